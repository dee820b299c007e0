"""Is the PDF sound, and is everything where it should be? Asked of qpdf, poppler, pikepdf and fontTools.

    structure.py FILE.pdf EXPECTED.json FONTS_FOLDER

EXPECTED.json: {"title", "headings": [[page, words]], "pages": [{"width", "height", "words": [line],
"labels": [[left, top, width, height]], "glyphs": [[text, x, y]]}]}, lengths in mm from the top left corner.
"""

import io
import json
import re
import sys
import unicodedata
from pathlib import Path

from tools import close, module, run, same

pikepdf = module("pikepdf")
cfflib = module("fontTools.cffLib")
ttlib = module("fontTools.ttLib")

MM = 72 / 25.4


def times(a, b):
    """Matrix a, then matrix b (ISO 32000-1, 8.3.4)."""
    return (
        a[0] * b[0] + a[1] * b[2],
        a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2],
        a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4],
        a[4] * b[1] + a[5] * b[3] + b[5],
    )


def at(matrix, x, y):
    return (x * matrix[0] + y * matrix[2] + matrix[4], x * matrix[1] + y * matrix[3] + matrix[5])


def characters(font):
    """What each number of a font stands for, from its ToUnicode map."""
    text = font.ToUnicode.read_bytes().decode("latin-1")
    pairs = re.findall(r"^<(\w{4})> <(\w*)>$", text, re.MULTILINE)
    return {int(number, 16): bytes.fromhex(code).decode("utf-16-be") for number, code in pairs}


def widths(font):
    """Advance of each number in thousandths of the em, from the W array (9.7.4.3)."""
    array, table, i = list(font.DescendantFonts[0].W), {}, 0
    while i < len(array):
        first, second = int(array[i]), array[i + 1]
        if isinstance(second, pikepdf.Array):
            table.update({first + k: float(width) for k, width in enumerate(second)})
            i += 2
        else:
            table.update({number: float(array[i + 2]) for number in range(first, int(second) + 1)})
            i += 3
    return table


def ink(box, size, matrix):
    """The box of a glyph's ink on the page: left, top, right, bottom; None for a blank."""
    if box is None:
        return None
    corners = [at(matrix, x * size, y * size) for x in box[0::2] for y in box[1::2]]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return [min(xs), min(ys), max(xs), max(ys)]


def embedded_glyphs(font):
    """The ink and the advance of each glyph in parts of the em, out of the embedded font itself."""
    descriptor = font.DescendantFonts[0].FontDescriptor
    if "/FontFile3" in descriptor:
        same("kind of outlines", str(descriptor.FontFile3.Subtype), "/CIDFontType0C")
        fonts = cfflib.CFFFontSet()
        fonts.decompile(io.BytesIO(descriptor.FontFile3.read_bytes()), None)
        top = fonts[0]
        em = 1 / (getattr(top, "FontMatrix", None) or [0.001])[0]

        def outline(glyph):
            return top.CharStrings[f"cid{glyph:05d}" if glyph else ".notdef"]

        def compact_box(glyph):
            bounds = outline(glyph).calcBounds(None)
            return bounds and [value / em for value in bounds]

        def compact_advance(glyph):
            # An outline tells its width when it is drawn.
            outline(glyph).calcBounds(None)
            return outline(glyph).width / em

        return compact_box, compact_advance

    embedded = ttlib.TTFont(io.BytesIO(descriptor.FontFile2.read_bytes()))
    glyf, order, em = embedded["glyf"], embedded.getGlyphOrder(), embedded["head"].unitsPerEm

    def box(number):
        glyph = glyf[order[number]]
        if glyph.numberOfContours == 0:
            return None
        return [value / em for value in (glyph.xMin, glyph.yMin, glyph.xMax, glyph.yMax)]

    return box, lambda number: embedded["hmtx"][order[number]][0] / em


def glyph_of(font):
    """The identifier (CID) of each number that a page shows, and the glyph of each identifier in the embedded font."""
    cid = gid = lambda number: number
    if isinstance(font.Encoding, pikepdf.Stream):
        text = font.Encoding.read_bytes().decode("latin-1")
        pairs = {int(code, 16): int(number) for code, number in re.findall(r"^<(\w{4})> (\d+)$", text, re.MULTILINE)}
        cid = pairs.__getitem__
    map_of_glyphs = font.DescendantFonts[0].get("/CIDToGIDMap")
    if isinstance(map_of_glyphs, pikepdf.Stream):
        numbers = map_of_glyphs.read_bytes()
        gid = lambda number: int.from_bytes(numbers[2 * number : 2 * number + 2], "big")
    return cid, gid


def draw(page, fonts, boxes=None):
    """Label rectangles and glyph origins of a page in mm from its top left corner, by walking its operators; the ink of the
    glyphs too, where a list for it is given."""
    height = float(page.MediaBox[3])
    page_mm = (1 / MM, 0, 0, -1 / MM, 0, height / MM)
    matrix, stack, path = (1, 0, 0, 1, 0, 0), [], []
    labels, glyphs = [], []
    text = font = size = rise = None
    for operands, operator in pikepdf.parse_content_stream(page):
        operator = str(operator)
        if operator == "q":
            stack.append(matrix)
        elif operator == "Q":
            matrix = stack.pop()
        elif operator == "cm":
            matrix = times([float(o) for o in operands], matrix)
        elif operator == "re":
            path = [float(o) for o in operands]
        elif operator == "n":
            # The one rectangle that is not painted is the label's own edge.
            x, y, w, h = path
            whole = times(matrix, page_mm)
            (x0, y0), (x1, y1) = at(whole, x, y), at(whole, x + w, y + h)
            labels.append([min(x0, x1), min(y0, y1), abs(x1 - x0), abs(y1 - y0)])
        elif operator == "BT":
            text, rise = (1, 0, 0, 1, 0, 0), 0.0
        elif operator == "Tf":
            font, size = fonts[str(operands[0])], float(operands[1])
        elif operator == "Tm":
            text = [float(o) for o in operands]
        elif operator == "Ts":
            rise = float(operands[0])
        elif operator == "TJ":
            for part in operands[0]:
                if isinstance(part, pikepdf.String):
                    codes = bytes(part)
                    for i in range(0, len(codes), 2):
                        number = int.from_bytes(codes[i : i + 2], "big")
                        here = times(times((1, 0, 0, 1, 0, rise), text), times(matrix, page_mm))
                        glyphs.append([font["characters"][number], here[4], here[5]])
                        if boxes is not None:
                            boxes.append(ink(font["boxes"](number), size, here))
                        text = times((1, 0, 0, 1, font["widths"][number] / 1000 * size, 0), text)
                else:
                    text = times((1, 0, 0, 1, -float(part) / 1000 * size, 0), text)
    return labels, glyphs


def check_fonts(pdf, *folders):
    """Advances and metrics of the embedded fonts against the font files, read by fontTools."""
    files = {}
    for path in sorted(path for folder in folders for path in Path(folder).glob("*.[ot]tf")):
        font = ttlib.TTFont(path)
        files[font["name"].getDebugName(6)] = font
    seen = {}
    for page in pdf.pages:
        for name, font in page.Resources.get("/Font", {}).items():
            if name in seen:
                continue
            tag, postscript_name = str(font.BaseFont)[1:].split("+")
            same("subset tag", bool(re.fullmatch("[A-Z]{6}", tag)), True)
            original = files[postscript_name]
            scale = 1000 / original["head"].unitsPerEm
            cmap, hmtx = original.getBestCmap(), original["hmtx"]
            (cid, gid), (boxes, advance), by_cid = glyph_of(font), embedded_glyphs(font), widths(font)
            table = {
                "characters": characters(font),
                "widths": {number: by_cid[cid(number)] for number in characters(font)},
                "boxes": lambda number, cid=cid, gid=gid, boxes=boxes: boxes(gid(cid(number))),
            }
            for number, text in table["characters"].items():
                what = f"advance of {text!r} in the embedded {postscript_name}"
                close(what, [table["widths"][number]], [advance(gid(cid(number))) * 1000], 0.01)
                # A ligature has an advance of its own, and so have the forms of letters that join.
                if len(text) == 1 and ord(text) in cmap and unicodedata.bidirectional(text) != "AL":
                    wanted = hmtx[cmap[ord(text)]][0] * scale
                    close(f"advance of {text!r} in {postscript_name}", [table["widths"][number]], [wanted], 0.01)
            descriptor = font.DescendantFonts[0].FontDescriptor
            hhea, head, os2 = original["hhea"], original["head"], original["OS/2"]
            close(
                f"metrics of {postscript_name}",
                [float(descriptor[key]) for key in ("/Ascent", "/Descent", "/CapHeight", "/ItalicAngle")]
                + [float(v) for v in descriptor.FontBBox],
                [v * scale for v in (hhea.ascent, hhea.descent, getattr(os2, "sCapHeight", hhea.ascent))]
                + [original["post"].italicAngle]
                + [v * scale for v in (head.xMin, head.yMin, head.xMax, head.yMax)],
                0.01,
            )
            seen[name] = table
    return seen


def main(path, expected_path, fonts_folder):
    expected = json.loads(Path(expected_path).read_text(encoding="utf-8"))

    checked = run("qpdf", "--check", path)
    same("qpdf finds no fault", "No syntax or stream encoding errors found" in checked, True)

    # name, type, encoding, emb, sub, uni, object ID
    fonts = [line.split() for line in run("pdffonts", path).splitlines()[2:]]
    same("fonts listed", len(fonts), 3)
    for font in fonts:
        same(f"{font[0]}: embedded, subset, with characters", font[-5:-2], ["yes", "yes", "yes"])
        same(f"{font[0]}: kind", font[1:3], ["CID", "TrueType"])

    with pikepdf.open(path) as pdf:
        same("version", pdf.pdf_version, "1.7")
        same("title", str(pdf.docinfo["/Title"]), expected["title"])
        same("information", sorted(pdf.docinfo.keys()), ["/Producer", "/Title"])
        preferences = pdf.Root.ViewerPreferences
        same("print scaling", str(preferences.PrintScaling), "/None")
        same("tray by page size", bool(preferences.PickTrayByPDFSize), True)
        same("title in the title bar", bool(preferences.DisplayDocTitle), True)
        with pdf.open_outline() as outline:
            indices = {page.objgen: number for number, page in enumerate(pdf.pages, 1)}
            marks = list(outline.root)
        same("bookmarks", [[indices[mark.destination[0].objgen], mark.title] for mark in marks], [h[:2] for h in expected["headings"]])
        for mark, (number, title, at) in zip(marks, expected["headings"]):
            _, how, left, top, _ = mark.destination
            same(f"bookmark {title!r}: kind", str(how), "/XYZ")
            place = [float(left) / MM, expected["pages"][number - 1]["height"] - float(top) / MM]
            close(f"bookmark {title!r}: place", place, at, 0.01)
        tables = check_fonts(pdf, fonts_folder)
        same("pages", len(pdf.pages), len(expected["pages"]))
        for number, (page, wanted) in enumerate(zip(pdf.pages, expected["pages"]), 1):
            box = [float(v) / MM for v in page.obj.MediaBox]
            close(f"page {number}: size", box, [0, 0, wanted["width"], wanted["height"]], 0.001)
            same(f"page {number}: no other box", [key for key in page.obj.keys() if key.endswith("Box")], ["/MediaBox"])
            labels, glyphs = draw(page, tables)
            same(f"page {number}: labels", len(labels), len(wanted["labels"]))
            for got, label in zip(labels, wanted["labels"]):
                close(f"page {number}: label", got, label, 0.01)
            same(f"page {number}: characters", [g[0] for g in glyphs], [g[0] for g in wanted["glyphs"]])
            for got, glyph in zip(glyphs, wanted["glyphs"]):
                close(f"page {number}: place of {glyph[0]!r}", got[1:], glyph[1:], 0.01)

    for number, wanted in enumerate(expected["pages"], 1):
        text = run("pdftotext", "-raw", "-f", str(number), "-l", str(number), path, "-")
        # A reader may break lines where it likes; the words and their order are ours.
        same(f"page {number}: copied text", text.split(), " ".join(wanted["words"]).split())
    print("sound")


if __name__ == "__main__":
    main(*sys.argv[1:])
