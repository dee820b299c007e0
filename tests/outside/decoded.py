"""What do the symbols of a PDF say? Poppler renders the pages, zxing-cpp reads them.

    decoded.py FILE.pdf WORK_FOLDER

Prints a line for each symbol.
"""

import sys
from pathlib import Path

from tools import module, run

zxingcpp = module("zxingcpp")
image = module("PIL.Image")


def main(path, folder):
    run("pdftoppm", "-r", "300", "-gray", "-png", path, str(Path(folder) / "page"))
    for picture in sorted(Path(folder).glob("page*.png")):
        for found in zxingcpp.read_barcodes(image.open(picture)):
            print(found.text)


if __name__ == "__main__":
    main(*sys.argv[1:])
