"""What arrived at a printer as PWG raster, read by the library of CUPS: is it the same as the PDF, dot for dot?

    raster.py ARRIVED FILE.pdf EXPECTED.json WORK_FOLDER

EXPECTED.json: {"dpi", "bits" (a pixel), "points": [width, height], "turned" (anticlockwise on its way),
"symbols": [what those of all pages say]}. libcups reads the
pages (PWG 5102.4); poppler renders the PDF at the same resolution; dots may differ at edges alone. zxing-cpp reads the symbols of what
arrived. Prints how many pages and symbols there were, and how many of a hundred dark dots differ.
"""

import ctypes
import ctypes.util
import json
import os
import struct
import sys
from pathlib import Path

from tools import module, run, same

image = module("PIL.Image")
chops = module("PIL.ImageChops")
filters = module("PIL.ImageFilter")
zxingcpp = module("zxingcpp")

HEAD = 1796


def library():
    """libcups 2.4 holds what was libcupsimage before."""
    for name in ("libcups.so.2", "libcupsimage.so.2"):
        try:
            found = ctypes.CDLL(name)
            found.cupsRasterOpen.restype = ctypes.c_void_p
            return found
        except (OSError, AttributeError):
            continue
    sys.exit("missing: libcups.so.2; apt-get install libcups2")


def pages(path):
    """Head and picture of each page."""
    cups = library()
    cups.cupsRasterOpen.argtypes = [ctypes.c_int, ctypes.c_int]
    cups.cupsRasterReadHeader2.argtypes = [ctypes.c_void_p, ctypes.c_char_p]
    cups.cupsRasterReadPixels.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_uint]
    cups.cupsRasterReadPixels.restype = ctypes.c_uint
    file = os.open(path, os.O_RDONLY)
    raster = cups.cupsRasterOpen(file, 0)
    if not raster:
        sys.exit(f"{path} is no raster")
    head = ctypes.create_string_buffer(HEAD)
    while cups.cupsRasterReadHeader2(raster, head):
        number = lambda at: struct.unpack_from("=I", head.raw, at)[0]
        text = lambda at: head.raw[at : at + 64].split(b"\0")[0].decode("ascii")
        width, height, row_bytes = number(372), number(376), number(392)
        row = ctypes.create_string_buffer(row_bytes)
        rows = bytearray()
        for _ in range(height):
            if cups.cupsRasterReadPixels(raster, row, row_bytes) != row_bytes:
                sys.exit("the raster breaks off")
            rows += row.raw[:row_bytes]
        told = {
            "class": text(0),
            "dpi": [number(276), number(280)],
            "points": [number(352), number(356)],
            "bits": number(388),
            "bits a colour": number(384),
            "colours": number(420),
            "space": number(400),
            "pages": number(452),
            "feed": [number(456), number(460)],
            "media": text(1732),
        }
        size = (width, height)
        if told["bits"] == 1:
            # A bit that is set is black.
            picture = chops.invert(image.frombytes("1", size, bytes(rows)).convert("L"))
        elif told["bits"] == 8:
            picture = image.frombytes("L", size, bytes(rows))
        else:
            picture = image.frombytes("RGB", size, bytes(rows)).convert("L")
        yield told, picture
    os.close(file)


def main(path, pdf, expected, folder):
    expected = json.loads(Path(expected).read_text(encoding="utf-8"))
    image.MAX_IMAGE_PIXELS = None
    info = run("pdfinfo", pdf)
    count = int(next(line.split()[1] for line in info.splitlines() if line.startswith("Pages:")))
    found, dark, differing, number = [], 0, 0, 0
    # Colour spaces of PWG 5102.4, table 3: black is 3, sGray 18, sRGB 19.
    space = {1: 3, 8: 18, 24: 19}[expected["bits"]]
    for number, (told, picture) in enumerate(pages(path), 1):
        same(f"page {number}: class", told["class"], "PwgRaster")
        same(f"page {number}: resolution", told["dpi"], [expected["dpi"]] * 2)
        same(f"page {number}: size in points", told["points"], expected["points"])
        same(f"page {number}: bits a pixel, space", [told["bits"], told["space"]], [expected["bits"], space])
        same(f"page {number}: pages in all", told["pages"], count)
        same(f"page {number}: feed", told["feed"], [1, 1])
        stem = Path(folder) / f"page-{number}"
        run("pdftoppm", "-r", str(expected["dpi"]), "-gray", "-png", "-singlefile", "-f", str(number), "-l", str(number), pdf, str(stem))
        if expected["turned"]:
            picture = picture.transpose(image.Transpose.ROTATE_270)
        ours, other = picture, image.open(f"{stem}.png").convert("L")
        if any(abs(a - b) > 1 for a, b in zip(ours.size, other.size)):
            sys.exit(f"page {number}: {ours.size} dots, poppler has {other.size}")
        size = tuple(min(pair) for pair in zip(ours.size, other.size))
        ours, other = ours.crop((0, 0, *size)), other.crop((0, 0, *size))
        black = lambda level: level.point(lambda value: 255 if value < 128 else 0)
        dots = black(ours), black(other)
        # What is black in one and has no black within a dot in the other is in another place.
        for one, two in (dots, dots[::-1]):
            near = two.filter(filters.MaxFilter(3))
            stray, all_dark = chops.subtract(one, near).histogram()[255], one.histogram()[255]
            # Tips of thin strokes, at the edge of black and white, differ between any two renderers.
            if stray * 1000 > all_dark:
                sys.exit(f"page {number}: {stray} of {all_dark} dark dots are elsewhere")
        dark += dots[1].histogram()[255]
        differing += chops.difference(*dots).histogram()[255]
        picture.save(f"{stem}-arrived.png")
        found += [symbol.text for symbol in zxingcpp.read_barcodes(picture)]
    same("pages", number, count)
    same("symbols", sorted(found), sorted(expected["symbols"]))
    print(f"{number} pages, {len(found)} symbols, {100 * differing / max(dark, 1):.1f} % differ")


main(*sys.argv[1:])
