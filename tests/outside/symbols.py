"""Do other readers read the symbols? Poppler renders the pages, zxing-cpp and zbar decode them.

    symbols.py FILE.pdf EXPECTED.json WORK_FOLDER DPI

EXPECTED.json: {"pages": [{"symbols": [{"kind": "qr" or "data matrix", "payload", "area": [left, top, width, height],
"quiet"}]}]}, lengths in mm. Zbar reads no Data Matrix.
"""

import json
import sys
from pathlib import Path

from tools import module, run, same

zxingcpp = module("zxingcpp")
image = module("PIL.Image")


def main(path, expected_path, folder, dpi):
    pages = json.loads(Path(expected_path).read_text(encoding="utf-8"))["pages"]
    # A long strip has more pixels than a picture's guard against overlarge files allows; this one is our own.
    image.MAX_IMAGE_PIXELS = None
    count = 0
    for number, page in enumerate(pages, 1):
        if not page["symbols"]:
            continue
        stem = Path(folder) / f"page-{number}"
        run("pdftoppm", "-r", dpi, "-gray", "-png", "-singlefile", "-f", str(number), "-l", str(number), path, str(stem))
        picture = image.open(f"{stem}.png")
        for index, symbol in enumerate(page["symbols"]):
            left, top, width, height = symbol["area"]
            quiet = symbol["quiet"]
            edges = (left - quiet, top - quiet, left + width + quiet, top + height + quiet)
            crop = picture.crop([round(edge / 25.4 * int(dpi)) for edge in edges])
            found = zxingcpp.read_barcodes(crop)
            same(f"page {number}, symbol {index} by zxing-cpp", [f.text for f in found], [symbol["payload"]])
            if symbol["kind"] == "qr":
                file = f"{stem}-{index}.png"
                crop.save(file)
                said = run("zbarimg", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", file, may_fail=True)
                same(f"page {number}, symbol {index} by zbar", said.splitlines(), [symbol["payload"]])
            count += 1
    print(count, "symbols read")


main(*sys.argv[1:])
