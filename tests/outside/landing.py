"""Where does a page land that goes through a printer which moves and stretches?

    landing.py FILE.pdf EXPECTED.json WORK_FOLDER

EXPECTED.json: {"printer": {"offset": [x, y], "scale": [x, y]}, "pages": [{"width", "height", "window", "level": [[y, x]],
"upright": [[x, y]], "symbols": [{"kind", "payload", "area", "quiet"}]}]}, lengths in mm from the paper's top left corner. `upright`
lists lines by their x and a y at which they are crossed, `level` by their y and an x; nothing else is dark within `window` of them.

Poppler renders the page at 600 dots an inch; the picture is resampled as that printer would put it on paper; then the darkness across
each line is weighed, and zxing-cpp and zbar read the symbols. Prints how many lines and symbols there are, where the lines lie, and by
how much they are off at most and on average, in mm.
"""

import json
import sys
from pathlib import Path

from tools import close, module, run, same

image = module("PIL.Image")
zxingcpp = module("zxingcpp")

DPI = 600
DOT = 25.4 / DPI


def dots(mm):
    return round(mm / DOT)


def on_paper(picture, printer):
    """Each dot of the paper from where on the sent page it comes; what comes from beyond the page is white."""
    (left, top), (across, down) = printer["offset"], printer["scale"]
    back = (1 / across, 0, -left / across / DOT, 0, 1 / down, -top / down / DOT)
    return picture.transform(picture.size, image.Transform.AFFINE, back, image.Resampling.BILINEAR, fillcolor=255)


def middle_of_line(paper, at, along, window, upright):
    """Where the dark of a line has its middle, on average over half a millimetre along it."""
    reach, half = dots(window), dots(0.25)
    across, along = dots(at), dots(along)
    extent = paper.size[0 if upright else 1]
    box = (max(across - reach, 0), along - half, min(across + reach, extent), along + half)
    if not upright:
        box = (box[1], box[0], box[3], box[2])
    part = paper.crop(box)
    if not upright:
        part = part.transpose(image.Transpose.TRANSPOSE)
    width, height = part.size
    pixels = part.tobytes()
    dark = [sum(255 - pixels[row * width + column] for row in range(height)) for column in range(width)]
    total = sum(dark)
    if total < 255 * height:
        sys.exit(f"no line within {window} mm of {at} mm at {along * DOT:.1f} mm")
    return (box[0 if upright else 1] + sum((i + 0.5) * d for i, d in enumerate(dark)) / total) * DOT


def main(path, expected_path, folder):
    expected = json.loads(Path(expected_path).read_text(encoding="utf-8"))
    image.MAX_IMAGE_PIXELS = None
    errors, places, symbols = [], [], 0
    for number, page in enumerate(expected["pages"], 1):
        size = run("pdfinfo", "-f", str(number), "-l", str(number), path).split(" size:")[1].split()
        close("size of the page", [float(size[0]) / 72 * 25.4, float(size[2]) / 72 * 25.4], [page["width"], page["height"]], 0.01)
        stem = Path(folder) / f"landing-{number}"
        run("pdftoppm", "-r", str(DPI), "-gray", "-png", "-singlefile", "-f", str(number), "-l", str(number), path, str(stem))
        paper = on_paper(image.open(f"{stem}.png").convert("L"), expected["printer"])
        for lines, upright in ((page["upright"], True), (page["level"], False)):
            found = [middle_of_line(paper, at, along, page["window"], upright) for at, along in lines]
            errors += [place - at for place, (at, _) in zip(found, lines)]
            places += [round(place, 4) for place in found]
        for index, symbol in enumerate(page["symbols"]):
            left, top, width, height = symbol["area"]
            quiet = symbol["quiet"]
            crop = paper.crop([dots(edge) for edge in (left - quiet, top - quiet, left + width + quiet, top + height + quiet)])
            said = [found.text for found in zxingcpp.read_barcodes(crop)]
            same(f"page {number}, symbol {index} by zxing-cpp", said, [symbol["payload"]])
            if symbol["kind"] == "qr":
                file = f"{stem}-{index}.png"
                crop.save(file)
                said = run("zbarimg", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", file, may_fail=True)
                same(f"page {number}, symbol {index} by zbar", said.splitlines(), [symbol["payload"]])
            symbols += 1
    off = [abs(error) for error in errors]
    most, mean = (max(off), sum(off) / len(off)) if off else (0, 0)
    print(json.dumps({"lines": len(errors), "symbols": symbols, "places": places, "most": round(most, 4), "mean": round(mean, 4)}))


main(*sys.argv[1:])
