"""Writes a small chart as a workbook, in which dates and times stand where designations and words should.

    dates.py WRITER FILE

WRITER is openpyxl (XLSX) or odfpy (ODS). B3 and C4 are a date and a time, G5 is a date in a column of words.
"""

import datetime
import sys

from tools import module

HEADER = ["connector", "cavity", "circuit", "colour", "size", "action", "note"]
ROWS = [
    ["J1", "1", "E1", "RD", 0.75, "keep", "sound"],
    ["J1", datetime.date(2026, 3, 1), "E2", "BU", 0.75, "keep", ""],
    ["J1", "3", datetime.time(12, 30), "BK", 0.75, "keep", ""],
    ["J1", "4", "E4", "WH", 0.75, "keep", datetime.date(2026, 11, 25)],
]


def with_openpyxl(path):
    openpyxl = module("openpyxl")
    workbook = openpyxl.Workbook()
    for row in [HEADER, *ROWS]:
        workbook.active.append(row)
    workbook.active.title = "engine plugs"
    workbook.save(path)


def with_odfpy(path):
    opendocument, table, text_of = module("odf.opendocument"), module("odf.table"), module("odf.text")
    document = opendocument.OpenDocumentSpreadsheet()
    sheet = table.Table(name="engine plugs")
    for row in [HEADER, *ROWS]:
        line = table.TableRow()
        for value in row:
            if isinstance(value, datetime.date):
                how = {"valuetype": "date", "datevalue": value.isoformat()}
            elif isinstance(value, datetime.time):
                how = {"valuetype": "time", "timevalue": value.strftime("PT%HH%MM%SS")}
            elif isinstance(value, float):
                how = {"valuetype": "float", "value": value}
            else:
                how = {"valuetype": "string"}
            cell = table.TableCell(**how)
            cell.addElement(text_of.P(text=str(value)))
            line.addElement(cell)
        sheet.addElement(line)
    document.spreadsheet.addElement(sheet)
    document.save(path)


{"openpyxl": with_openpyxl, "odfpy": with_odfpy}[sys.argv[1]](sys.argv[2])
