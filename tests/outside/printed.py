"""A print run, looked at by programs that are not ours: is each PDF sound, and does it carry what run.json says, where the
stock says?

    printed.py RUN_FOLDER STOCK_FOLDER FONTS_FOLDER...

Asked of qpdf, poppler, pikepdf, fontTools, zxing-cpp and zbar. The places of labels are worked out here from the stock's
TOML, by the rule margin + n size + (n - 1) gap.
"""

import json
import math
import re
import sys
import tempfile
import tomllib
from pathlib import Path

from structure import MM, check_fonts, draw, pikepdf
from tools import close, module, run, same

zxingcpp = module("zxingcpp")
image = module("PIL.Image")


def mm(value):
    """A length of a stock file: millimetres, or inches in words."""
    if isinstance(value, str):
        number, unit = value.split()
        return float(number) * {"in": 25.4, "mm": 1.0}[unit]
    return float(value)


def places(stock):
    """Every place of a sheet for a tag: left, top, width, height; None where places are not fixed."""
    if "labels" not in stock:
        return None
    page, labels = stock["page"], stock["labels"]
    split = labels.get("split", 1)
    all_places = []
    axes = []
    for size, count, gap, margin, side in (
        ("width", "columns", "gap-x", "margin-x", "left"),
        ("height", "rows", "gap-y", "margin-y", "top"),
    ):
        length, number, between = mm(labels[size]), labels[count], mm(labels.get(gap, 0))
        first = mm(labels.get(side, labels.get(margin, 0)))
        if margin in labels:
            total = 2 * first + number * length + (number - 1) * between
            close(f"{stock['name']}: {size} adds up", [total], [mm(page[size])], 0.05)
        axes.append([(first + k * (length + between), length) for k in range(number)])
    for top, height in axes[1]:
        for left, width in axes[0]:
            for k in range(split):
                all_places.append([left, top + k * height / split, width, height / split])
    return all_places


def inside(inner, outer, slack=0.01):
    """Whether a box (left, top, right, bottom) lies in a rectangle (left, top, width, height)."""
    left, top, width, height = outer
    return (
        inner[0] >= left - slack
        and inner[1] >= top - slack
        and inner[2] <= left + width + slack
        and inner[3] <= top + height + slack
    )


def apart(box, area):
    left, top, width, height = area
    return box[2] <= left or box[0] >= left + width or box[3] <= top or box[1] >= top + height


def check_page_size(name, stock, boxes):
    for number, (width, height) in enumerate(boxes, 1):
        what = f"{name}, page {number}: size"
        if stock["geometry"] in ("sheet", "paper"):
            close(what, [width, height], [mm(stock["page"]["width"]), mm(stock["page"]["height"])], 0.001)
        elif stock["geometry"] == "roll":
            close(what, [width, height], [mm(stock["label"]["width"]), mm(stock["label"]["height"])], 0.001)
        else:
            # The tube pressed flat: half the circumference of its bore and two walls, whose cross-section shrinking keeps.
            tube = stock["tube"]
            bore, recovered, wall = (mm(tube[key]) for key in ("expanded", "recovered", "recovered-wall"))
            outer = math.sqrt(bore**2 + (recovered + 2 * wall) ** 2 - recovered**2)
            close(what, [height], [math.pi / 2 * bore + (outer - bore)], 0.01)
            same(f"{what}: no longer than a piece", width <= mm(tube["piece"]) + 0.001, True)


def check_labels(name, stock, labels, numbers, box):
    """Labels stand on the places that the run has written down, or the first ones, or on the tube or paper without overlap."""
    fixed = places(stock)
    if fixed is not None and any(numbers):
        # From the trailing end, each place once.
        same(f"{name}: places in order", numbers, sorted(set(numbers)))
        fixed = [fixed[number - 1] for number in numbers]
    if fixed is not None:
        same(f"{name}: labels fit the sheet", len(labels) <= len(fixed), True)
        for got, wanted in zip(labels, fixed):
            close(f"{name}: label", got, wanted, 0.01)
    for index, label in enumerate(labels):
        edges = [label[0], label[1], label[0] + label[2], label[1] + label[3]]
        same(f"{name}: {label} on the page", inside(edges, [0, 0, *box]), True)
        for other in labels[:index]:
            tight = [edges[0] + 0.002, edges[1] + 0.002, edges[2] - 0.002, edges[3] - 0.002]
            same(f"{name}: {label} and {other} are apart", apart(tight, other), True)


def check_ink(name, labels, glyphs, boxes):
    """All of a letter stands on the label it begins on; marks keep off the labels."""
    for (text, x, y), box in zip(glyphs, boxes):
        if box is None:
            continue
        homes = [label for label in labels if inside([x, y, x, y], label)]
        if homes:
            same(f"{name}: {text!r} at {box} stays on its label", any(inside(box, label) for label in homes), True)
        else:
            same(f"{name}: {text!r} at {box} keeps off labels", all(apart(box, label) for label in labels), True)


def tag_name(tag):
    """What stands largest: code and letters, or a connector."""
    return f"{tag.get('connector') or tag['code']} {tag['letters']}".strip()


def check_words(name, page, tags):
    """What is printed can be found: code, places and the words of the function."""
    text = " ".join(page.split())
    squeezed = re.sub(r"\s", "", text)
    for tag in tags:
        what = f"{name}: {tag_name(tag)}"
        same(f"{what}: name", tag_name(tag) in text, True)
        for line in tag["words"]:
            # A line may be broken between words, and a function may be shortened by words: its first one is always there.
            same(f"{what}: {line!r}", line.split()[0] in text, True)
        if any(line.startswith(tag["place"].split("/")[0]) for line in tag["words"]):
            same(f"{what}: place", tag["place"].replace("/", "/") in squeezed, True)


def check_symbols(name, path, number, tags, dpi, folder):
    """Every symbol of the rendered page, by two other readers."""
    symbols = [(tag, symbol) for tag in tags for symbol in tag["symbols"]]
    if not symbols:
        return 0
    stem = Path(folder) / f"{Path(path).stem}-{number}"
    run("pdftoppm", "-r", str(dpi), "-gray", "-png", "-singlefile", "-f", str(number), "-l", str(number), str(path), str(stem))
    picture = image.open(f"{stem}.png")
    for index, (tag, symbol) in enumerate(symbols):
        left, top, width, height = symbol["area_mm"]
        quiet = symbol["quiet_mm"]
        edges = (left - quiet, top - quiet, left + width + quiet, top + height + quiet)
        crop = picture.crop([round(edge / 25.4 * dpi) for edge in edges])
        what = f"{name}, page {number}: {tag_name(tag)}"
        found = zxingcpp.read_barcodes(crop)
        same(f"{what} by zxing-cpp", [f.text for f in found], [symbol["says"]])
        if width == height and len(symbol["says"]) > 4:
            file = f"{stem}-{index}.png"
            crop.save(file)
            said = run("zbarimg", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", file, may_fail=True)
            same(f"{what} by zbar", said.splitlines(), [symbol["says"]])
    return len(symbols)


def main(run_folder, stock_folder, *fonts_folders):
    image.MAX_IMAGE_PIXELS = None
    record = json.loads((Path(run_folder) / "run.json").read_text(encoding="utf-8"))
    files = symbols = 0
    for file in record["files"]:
        name, path = file["file"], Path(run_folder) / file["file"]
        stock = tomllib.loads((Path(stock_folder) / f"{file['stock']}.toml").read_text(encoding="utf-8"))
        same(f"{name}: qpdf finds no fault", "No syntax or stream encoding errors found" in run("qpdf", "--check", str(path)), True)
        # name, type, encoding, emb, sub, uni, object ID
        fonts = [line.split() for line in run("pdffonts", str(path)).splitlines()[2:]]
        same(f"{name}: has fonts", bool(fonts), True)
        for font in fonts:
            same(f"{name}: {font[0]} is embedded, subset, with characters", font[-5:-2], ["yes", "yes", "yes"])
        with pikepdf.open(path) as pdf:
            preferences = pdf.Root.ViewerPreferences
            same(f"{name}: print scaling", str(preferences.PrintScaling), "/None")
            same(f"{name}: tray by page size", bool(preferences.PickTrayByPDFSize), True)
            same(f"{name}: title", record["title"] in str(pdf.docinfo["/Title"]), True)
            same(f"{name}: pages", len(pdf.pages), file["pages"])
            tables = check_fonts(pdf, *fonts_folders)
            sizes = [[float(v) / MM for v in page.obj.MediaBox][2:] for page in pdf.pages]
            check_page_size(name, stock, sizes)
            count = 0
            for number, page in enumerate(pdf.pages, 1):
                boxes = []
                labels, glyphs = draw(page, tables, boxes)
                tags = [tag for tag in file["tags"] if tag["page"] == number]
                same(f"{name}, page {number}: labels", len(labels), len(tags))
                check_labels(f"{name}, page {number}", stock, labels, [tag.get("label") for tag in tags], sizes[number - 1])
                check_ink(f"{name}, page {number}", labels, glyphs, boxes)
                count += len(labels)
            same(f"{name}: tags", count, len(file["tags"]))
        with tempfile.TemporaryDirectory() as folder:
            for number in range(1, file["pages"] + 1):
                tags = [tag for tag in file["tags"] if tag["page"] == number]
                text = run("pdftotext", "-raw", "-f", str(number), "-l", str(number), str(path), "-")
                check_words(f"{name}, page {number}", text, tags)
                symbols += check_symbols(name, path, number, tags, file["dpi"], folder)
        files += 1
    print(f"{files} files sound, {symbols} symbols read")


main(*sys.argv[1:])
