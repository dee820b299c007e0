"""The yardstick: the tag maker's work as a plain script over general-purpose libraries (reportlab, segno).

In:   a CSV with a header and the columns code, letter, function, here, there, conductor, circuit, payload.
Out:  a PDF of flags on A4 sheets of 24 labels, 63.5 x 33.9 mm, and one line of JSON on standard output:
      labels, cpu_seconds (user and system time of this process), wall_seconds, peak_rss_kb. Imports are not counted.

Each label is folded round a wire of 3 mm: both faces carry the symbol, the code with its letter, and four lines of words,
measured with the font's own metrics. A line that is too long is first set smaller, down to a legible height, then shortened
by words. A face without room for all lines gives up the last ones. The script is written as somebody who knows the two
libraries would write it: fonts and sizes are prepared once, what a label shows twice is worked out once, the symbol is one
filled path, and widths that repeat are looked up.

    python3 benches/yardstick.py ROWS.csv TAGS.pdf
    python3 benches/yardstick.py --rows 10000 TAGS.pdf     (makes its own rows)
"""

import argparse
import csv
import functools
import json
import math
import pathlib
import resource
import time

import segno
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

FONTS = pathlib.Path(__file__).resolve().parent.parent / "fonts"

# A4, 24 labels; the sheet of templates/stock/a4-24-64x34.toml.
PAGE = (210 * mm, 297 * mm)
LABEL_WIDTH, LABEL_HEIGHT = 63.5 * mm, 33.9 * mm
COLUMNS, ROWS, GAP_X = 3, 8, 2.54 * mm
MARGIN_X, MARGIN_Y = 7.21 * mm, 12.9 * mm

# A flag on a wire of 3 mm: half of what the wire does not take is a face.
WIRE, THICKNESS = 3.0, 0.1
WRAP = (math.pi * (WIRE + THICKNESS) + 2 * max(0.5, 0.15 * WIRE)) * mm
FACE = (LABEL_WIDTH - WRAP) / 2
EDGE, AT_WRAP = 1.5 * mm, 1.0 * mm
MODULE = 8 / 600 * 25.4 * mm  # 8 dots at 600 dpi, 0.339 mm
QUIET = 4

# Heights of capitals in mm: wanted and least; then the size of type that gives them.
CODE_CAP, LINE_CAP, LEAST_CAP = 2.5, 1.8, 1.3
WORDS, CODES = "Words", "Codes"
LEADING = 1.35


def size_for(cap_mm, face):
    """Size of type whose capitals are this high, from the face's own cap height."""
    return cap_mm * mm * 1000 / pdfmetrics.getFont(face).face.capHeight


def register_fonts():
    pdfmetrics.registerFont(TTFont(WORDS, str(FONTS / "FiraSansCondensed-Medium.ttf")))
    pdfmetrics.registerFont(TTFont(CODES, str(FONTS / "AtkinsonHyperlegibleNext_700Bold.ttf")))


@functools.lru_cache(maxsize=4096)
def width(text, face):
    """Width of a text at a size of 1."""
    return pdfmetrics.stringWidth(text, face, 1)


def fit(text, face, wanted, least, room):
    """Text and size: smaller first, then shorter by words; None if not even one word fits."""
    words = text.split()
    while words:
        line = " ".join(words)
        size = min(wanted, room / width(line, face))
        if size >= least:
            return line, size
        words.pop()
    return None


@functools.lru_cache(maxsize=1)
def sizes():
    return (
        size_for(CODE_CAP, CODES),
        size_for(1.8, CODES),
        size_for(LINE_CAP, WORDS),
        size_for(LEAST_CAP, WORDS),
    )


def symbol_runs(payload):
    """Side in modules, and the dark runs of each row: (column, row, length)."""
    matrix = segno.make_qr(payload, error="m", boost_error=False).matrix
    runs = []
    for row, modules in enumerate(matrix):
        start = None
        for column, dark in enumerate(modules):
            if dark and start is None:
                start = column
            elif not dark and start is not None:
                runs.append((start, row, column - start))
                start = None
        if start is not None:
            runs.append((start, row, len(modules) - start))
    return len(matrix), runs


def symbol_path(canvas, runs, left, top):
    """The dark modules as one path, from the face's top left corner; y grows upwards."""
    path = canvas.beginPath()
    for column, row, length in runs:
        path.rect(left + column * MODULE, -top - (row + 1) * MODULE, length * MODULE, MODULE)
    return path


def face_layout(canvas, row):
    """What one face carries, the symbol's path and the texts, measured from the face's top left corner."""
    code_wanted, code_least, line_wanted, line_least = sizes()
    modules, runs = symbol_runs(row["payload"])
    room = FACE - EDGE - AT_WRAP
    side = modules * MODULE
    texts = []
    # The symbol stands at the top; the code beside it if there is room for it there, else below.
    beside = room - side - 2 * QUIET * MODULE
    code = f"{row['code']} {row['letter']}"
    top = EDGE + QUIET * MODULE
    fitted = fit(code, CODES, code_wanted, code_least, beside) if beside > 0 else None
    y = top + side + QUIET * MODULE
    if fitted:
        texts.append((CODES, fitted[1], EDGE + side + QUIET * MODULE * 2, top + fitted[1], fitted[0]))
    else:
        fitted = fit(code, CODES, code_wanted, code_least, room)
        if fitted:
            y += fitted[1] * 0.75
            texts.append((CODES, fitted[1], EDGE, y, fitted[0]))
            y += fitted[1] * 0.35
    lines = (row["function"], f"{row['here']} > {row['there'] or '________'}", row["conductor"], row["circuit"])
    for line in lines:
        fitted = fit(line, WORDS, line_wanted, line_least, room)
        if not fitted:
            continue
        text, size = fitted
        if y + size * LEADING > LABEL_HEIGHT - EDGE:
            break
        y += size * LEADING
        texts.append((WORDS, size, EDGE, y - size * 0.25, text))
    return symbol_path(canvas, runs, EDGE + QUIET * MODULE, top), texts


def draw_face(canvas, left, top, layout):
    """Draws a face whose top left corner is here."""
    path, texts = layout
    canvas.saveState()
    canvas.translate(left, top)
    canvas.drawPath(path, stroke=0, fill=1)
    for face, size, x, y, text in texts:
        canvas.setFont(face, size)
        canvas.drawString(x, -y, text)
    canvas.restoreState()


def draw_label(canvas, left, top, row):
    layout = face_layout(canvas, row)
    draw_face(canvas, left, top, layout)
    draw_face(canvas, left + FACE + WRAP, top, layout)
    # Ticks where the wire lies.
    for x in (left + FACE, left + FACE + WRAP):
        canvas.line(x, top, x, top - 1 * mm)
        canvas.line(x, top - LABEL_HEIGHT, x, top - LABEL_HEIGHT + 1 * mm)


def make(rows, target):
    canvas = Canvas(str(target), pagesize=PAGE, pageCompression=1)
    canvas.setTitle("Marsh Hen repower")
    canvas.setViewerPreference("PrintScaling", "None")
    count = 0
    for row in rows:
        place = count % (COLUMNS * ROWS)
        if place == 0:
            if count:
                canvas.showPage()
            canvas.setLineWidth(0.1 * mm)
        left = MARGIN_X + (place % COLUMNS) * (LABEL_WIDTH + GAP_X)
        top = PAGE[1] - MARGIN_Y - (place // COLUMNS) * LABEL_HEIGHT
        draw_label(canvas, left, top, row)
        count += 1
    canvas.save()
    return count


ALPHABET = "2346789ABCDEFGHJKMNPQRTUVWXYZ"
FUNCTIONS = (
    "rail pressure signal",
    "control unit supply from main relay",
    "injector 2 low side",
    "coolant temperature",
    "engine speed for the instrument",
    "bilge pump",
    "side and stern lights",
    "engine speed request, net hauler",
)
CONDUCTORS = ("BN/WH 0.75 mm² 15 A", "RD/YE 2.5 mm² 20 A", "BU 0.5 mm²", "GY/RD 16 AWG 5 A", "VT 14 AWG 10 A")


def code_for(number):
    """A code of four or five characters with its check character; which one does not matter here."""
    values = []
    while number or len(values) < 3:
        number, value = divmod(number, 29)
        values.append(value)
    values.reverse()
    check = -sum(3 ** (len(values) - i) * value for i, value in enumerate(values)) % 29
    return "".join(ALPHABET[value] for value in (*values, check))


def own_rows(count):
    for number in range(count):
        code, letter = code_for(number), "AB"[number % 2]
        yield {
            "code": code,
            "letter": letter,
            "function": FUNCTIONS[number % len(FUNCTIONS)],
            "here": f"J{1 + number // 60}/{1 + number % 60}",
            "there": f"X{1 + number // 90}P/{1 + number % 90}" if number % 9 else "",
            "conductor": CONDUCTORS[number % len(CONDUCTORS)],
            "circuit": f"E{number:05}",
            "payload": f"HTTP://MARSHHEN.LOCAL:7117/{code}/{letter}",
        }


def main():
    parser = argparse.ArgumentParser(description="Flags by a plain script, for comparison.")
    parser.add_argument("--rows", type=int, help="make this many rows instead of reading a CSV")
    parser.add_argument("--write-rows", metavar="CSV", help="only write those rows to a CSV")
    parser.add_argument("files", nargs="*", metavar="ROWS.csv TAGS.pdf")
    options = parser.parse_args()

    if options.write_rows:
        rows = own_rows(options.rows or 0)
        with open(options.write_rows, "w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, next(own_rows(1)).keys())
            writer.writeheader()
            writer.writerows(rows)
        return

    wanted = 1 if options.rows is not None else 2
    if len(options.files) != wanted:
        parser.error("name ROWS.csv and TAGS.pdf, or --rows N and TAGS.pdf")
    wall, cpu = time.perf_counter(), time.process_time()
    register_fonts()
    if options.rows is not None:
        count = make(own_rows(options.rows), options.files[-1])
    else:
        with open(options.files[0], newline="", encoding="utf-8") as file:
            count = make(csv.DictReader(file), options.files[-1])
    answer = {
        "labels": count,
        "cpu_seconds": round(time.process_time() - cpu, 3),
        "wall_seconds": round(time.perf_counter() - wall, 3),
        "peak_rss_kb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss,
    }
    print(json.dumps(answer))


if __name__ == "__main__":
    main()
