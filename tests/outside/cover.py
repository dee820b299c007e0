"""Damages a symbol in a PDF: a white rectangle over the middle of it, drawn on the page with pikepdf.

    cover.py FILE.pdf PAGE "[left, top, width, height]"

The rectangle is the symbol's, in mm from the top left corner of the page.
"""

import json
import sys

from tools import module

pikepdf = module("pikepdf")

MM = 72 / 25.4


def main(path, number, area):
    left, top, width, height = (value * MM for value in json.loads(area))
    with pikepdf.open(path, allow_overwriting_input=True) as pdf:
        page = pdf.pages[int(number) - 1]
        bottom = float(page.MediaBox[3]) - top - height
        box = (left + width / 4, bottom + height / 4, width / 2, height / 2)
        # The page's own operators are wrapped, so that none of its transformations moves the rectangle.
        page.contents_add(pdf.make_stream(b"q"), prepend=True)
        page.contents_add(pdf.make_stream(b"Q q 1 g %f %f %f %f re f Q" % box))
        pdf.save(path)


main(*sys.argv[1:])
