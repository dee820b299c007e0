"""Does the reader of the CUPS project read the pages that were sent as PWG raster, and do the symbols on them decode?

    raster.py FILE.pwg RUN.json PDF_NAME FOLDER

Writes page-1.gray and so on into FOLDER: a byte a pixel, 0 is black. Prints as JSON what the heads of the pages say, and how many
symbols zxing-cpp and zbar read at the places that run.json tells.
"""

import ctypes
import json
import os
import struct
import sys
from pathlib import Path

from tools import module, run, same

zxingcpp = module("zxingcpp")
image = module("PIL.Image")

HEAD = 1796
# Offsets of numbers in the head (PWG 5102.4, table 2), which the reader gives in the order of this machine.
NUMBERS = {
    "dpi": (276, 280),
    "page_points": (352, 356),
    "dots": (372, 376),
    "bits": (388,),
    "row_bytes": (392,),
    "colour_space": (400,),
    "pages": (452,),
}


def main(path, run_path, pdf, folder):
    try:
        cups = ctypes.CDLL("libcups.so.2")
    except OSError as failure:
        sys.exit(f"missing: libcups.so.2 ({failure}); apt-get install libcups2")
    cups.cupsRasterOpen.restype = ctypes.c_void_p
    cups.cupsRasterReadHeader2.argtypes = [ctypes.c_void_p, ctypes.c_char_p]
    cups.cupsRasterReadPixels.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_uint]
    files = json.loads(Path(run_path).read_text(encoding="utf-8"))["files"]
    tags = next(file for file in files if file["file"] == pdf)["tags"]
    descriptor = os.open(path, os.O_RDONLY)
    raster = cups.cupsRasterOpen(descriptor, 0)
    pages, symbols = [], 0
    head = ctypes.create_string_buffer(HEAD)
    while cups.cupsRasterReadHeader2(raster, head):
        numbers = {name: [struct.unpack_from("=I", head.raw, at)[0] for at in places] for name, places in NUMBERS.items()}
        text = lambda at: head.raw[at : at + 64].split(b"\0")[0].decode("ascii")
        (width, height), row_bytes, bits = numbers["dots"], numbers["row_bytes"][0], numbers["bits"][0]
        row, rows = ctypes.create_string_buffer(row_bytes), []
        for _ in range(height):
            same("bytes of a row", cups.cupsRasterReadPixels(raster, row, row_bytes), row_bytes)
            rows.append(row.raw[:row_bytes])
        if bits == 1:
            unpacked = b"".join(rows)
            picture = image.frombytes("1", (width, height), bytes(255 - byte for byte in unpacked)).convert("L")
        else:
            picture = image.frombytes("L", (width, height), b"".join(rows))
        number = len(pages) + 1
        (Path(folder) / f"page-{number}.gray").write_bytes(picture.tobytes())
        picture.save(Path(folder) / f"page-{number}.png")
        for symbol in (symbol for tag in tags if tag["page"] == number for symbol in tag["symbols"]):
            left, top, wide, high = symbol["area_mm"]
            quiet, dpi = symbol["quiet_mm"], numbers["dpi"][0]
            crop = picture.crop([round(edge / 25.4 * dpi) for edge in (left - quiet, top - quiet, left + wide + quiet, top + high + quiet)])
            found = zxingcpp.read_barcodes(crop)
            same(f"page {number} by zxing-cpp", [one.text for one in found], [symbol["says"]])
            if found[0].format == zxingcpp.BarcodeFormat.QRCode:
                file = str(Path(folder) / "crop.png")
                crop.save(file)
                said = run("zbarimg", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", file, may_fail=True)
                same(f"page {number} by zbar", said.splitlines(), [symbol["says"]])
            symbols += 1
        pages.append({**numbers, "kind": text(0), "media": text(1732)})
    print(json.dumps({"pages": pages, "symbols": symbols}))


main(*sys.argv[1:])
