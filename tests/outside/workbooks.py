"""Writes the CSV lists of a folder as workbooks, with writers that know nothing of the program.

    workbooks.py WRITER FROM TO

WRITER is openpyxl or xlsxwriter (XLSX) or odfpy (ODS). All lists of FROM become sheets of one workbook in TO, `lists.xlsx` or
`lists.ods`, each named as its list; `connectors.csv` becomes a workbook of its own. What looks like a number is written as
one, every fourth of them as a formula with its value (openpyxl cannot store one), equal cells below each other in the first
column of a chart are merged, and so is a title over its row.
"""

import csv
import io
import pathlib
import sys

from tools import module


def rows_of(path):
    """The rows of a list, with the separator that its header row uses."""
    text = path.read_text(encoding="utf-8")
    separator = ";" if text.count(";") > text.count(",") else ","
    return list(csv.reader(io.StringIO(text), delimiter=separator))


def number(text):
    """The number that a text stands for, if it is written back as the same text: `01` is a text, and `4.0` is 4 shown as `4.0`."""
    for kind in (int, float):
        try:
            if str(kind(text)) == text:
                return kind(text)
        except ValueError:
            pass
    return None


def merged(rows):
    """Areas to merge, as (first row, last row, first column, last column), from 0."""
    areas = []
    header = next(at for at, row in enumerate(rows) if sum(map(bool, row)) > 1)
    for at, row in enumerate(rows[:header]):
        if row and row[0] and not any(row[1:]):
            areas.append((at, at, 0, len(rows[header]) - 1))
    if rows[header][0] in ("connector", "Stecker"):
        start = header + 1
        for at in range(header + 2, len(rows) + 1):
            if at == len(rows) or not rows[at] or rows[at][0] != rows[start][0]:
                if at - start > 1 and rows[start] and rows[start][0]:
                    areas.append((start, at - 1, 0, 0))
                start = at
    return areas


def covered(areas):
    """Cells that stand below others in merged ones."""
    return {
        (row, column)
        for top, bottom, left, right in areas
        for row in range(top, bottom + 1)
        for column in range(left, right + 1)
        if (row, column) != (top, left)
    }


def with_openpyxl(lists, path):
    openpyxl = module("openpyxl")
    workbook = openpyxl.Workbook()
    workbook.remove(workbook.active)
    for name, rows in lists.items():
        sheet = workbook.create_sheet(name)
        areas = merged(rows)
        hidden = covered(areas)
        for at, row in enumerate(rows):
            for column, text in enumerate(row):
                if text and (at, column) not in hidden:
                    value = number(text)
                    cell = sheet.cell(at + 1, column + 1, text if value is None else value)
                    if text.endswith(".0"):
                        cell.number_format = "0.0"
        for top, bottom, left, right in areas:
            sheet.merge_cells(start_row=top + 1, end_row=bottom + 1, start_column=left + 1, end_column=right + 1)
    workbook.save(path)


def with_xlsxwriter(lists, path):
    xlsxwriter = module("xlsxwriter")
    workbook = xlsxwriter.Workbook(path)
    style, tenths = workbook.add_format({"bold": True}), workbook.add_format({"num_format": "0.0"})
    for name, rows in lists.items():
        sheet = workbook.add_worksheet(name)
        areas = merged(rows)
        hidden, count = covered(areas), 0
        for top, bottom, left, right in areas:
            sheet.merge_range(top, left, bottom, right, "", style)
        for at, row in enumerate(rows):
            for column, text in enumerate(row):
                value = number(text)
                if not text or (at, column) in hidden:
                    continue
                if value is None:
                    sheet.write_string(at, column, text)
                    continue
                count += 1
                if count % 4:
                    sheet.write_number(at, column, value, tenths if text.endswith(".0") else None)
                else:
                    sheet.write_formula(at, column, f"={value}+0", tenths if text.endswith(".0") else None, value)
    workbook.close()


def with_odfpy(lists, path):
    opendocument, table, text_of = module("odf.opendocument"), module("odf.table"), module("odf.text")
    document = opendocument.OpenDocumentSpreadsheet()
    for name, rows in lists.items():
        sheet = table.Table(name=name)
        areas = merged(rows)
        hidden, count = covered(areas), 0
        for at, row in enumerate(rows):
            line = table.TableRow()
            for column, text in enumerate(row):
                if (at, column) in hidden:
                    line.addElement(table.CoveredTableCell())
                    continue
                value, how = number(text), {}
                if value is not None:
                    count += 1
                    how = {"valuetype": "float", "value": value}
                    if count % 4 == 0:
                        how["formula"] = f"of:={value}+0"
                elif text:
                    how = {"valuetype": "string"}
                for top, bottom, left, right in areas:
                    if (top, left) == (at, column):
                        how |= {"numberrowsspanned": bottom - top + 1, "numbercolumnsspanned": right - left + 1}
                cell = table.TableCell(**how)
                for part in text.split("\n") if text else []:
                    cell.addElement(text_of.P(text=part))
                line.addElement(cell)
            sheet.addElement(line)
        # As spreadsheet programs do: all the rows below, in one.
        below = table.TableRow(numberrowsrepeated=1_048_576 - len(rows))
        below.addElement(table.TableCell(numbercolumnsrepeated=16_384))
        sheet.addElement(below)
        document.spreadsheet.addElement(sheet)
    document.save(path)


def main(writer, from_folder, to_folder):
    write, end = {
        "openpyxl": (with_openpyxl, "xlsx"),
        "xlsxwriter": (with_xlsxwriter, "xlsx"),
        "odfpy": (with_odfpy, "ods"),
    }[writer]
    files = sorted(pathlib.Path(from_folder).glob("*.csv"))
    lists = {path.stem: rows_of(path) for path in files}
    connectors = lists.pop("connectors", None)
    to = pathlib.Path(to_folder)
    write(lists, str(to / f"lists.{end}"))
    if connectors:
        write({"connectors": connectors}, str(to / f"connectors.{end}"))
    print(f"{len(lists)} sheets")


main(*sys.argv[1:])
