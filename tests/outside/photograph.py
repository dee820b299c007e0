"""A photograph of a tag, as a phone takes it: poppler renders the page, pillow turns, blurs and shades the picture.

    photograph.py FILE.pdf PAGE "[left, top, width, height]" DEGREES OUT.jpg
    photograph.py blank OUT.png
    photograph.py beside LEFT.png RIGHT.png OUT.png
    photograph.py film PICTURE OUT.y4m

The rectangle is the symbol's, in mm from the top left corner of the page; some of what stands round it is in the picture too.
"""

import json
import sys
import tempfile
from pathlib import Path

from tools import module, run

image = module("PIL.Image")
filters = module("PIL.ImageFilter")

DPI = 500


def shaded(picture):
    """Light from one side: the darker edge gets 55 % of it, and paper is not quite white."""
    width, height = picture.size
    light = image.linear_gradient("L").resize((width, height)).point(lambda v: 130 + v * 105 // 255)
    shade = module("PIL.ImageChops").multiply(picture, light)
    return shade.point(lambda v: 18 + v * 225 // 255)


def film(path, out):
    """What a camera sees that is held before the picture: a few frames of YUV4MPEG2, grey, 4:2:0."""
    size = (1280, 720)
    seen = image.new("L", size, 190)
    picture = image.open(path).convert("L")
    picture.thumbnail(size)
    seen.paste(picture, ((size[0] - picture.width) // 2, (size[1] - picture.height) // 2))
    frame = b"FRAME\n" + seen.tobytes() + bytes([128]) * (size[0] * size[1] // 2)
    Path(out).write_bytes(b"YUV4MPEG2 W%d H%d F10:1 Ip A1:1 C420mpeg2\n" % size + frame * 5)


def main(*arguments):
    if arguments[0] == "blank":
        shaded(image.new("L", (900, 700), 255)).save(arguments[1])
        return
    if arguments[0] == "beside":
        left, right = (image.open(path) for path in arguments[1:3])
        both = image.new("L", (left.width + right.width, max(left.height, right.height)), 205)
        both.paste(left, (0, 0))
        both.paste(right, (left.width, 0))
        both.save(arguments[3])
        return
    if arguments[0] == "film":
        film(*arguments[1:])
        return
    path, page, area, degrees, out = arguments
    left, top, width, height = json.loads(area)
    with tempfile.TemporaryDirectory() as folder:
        stem = Path(folder) / "page"
        run("pdftoppm", "-r", str(DPI), "-gray", "-png", "-singlefile", "-f", page, "-l", page, path, str(stem))
        picture = image.open(f"{stem}.png").convert("L")
    edges = (left - 7, top - 6, left + width + 9, top + height + 6)
    picture = picture.crop([max(0, round(edge / 25.4 * DPI)) for edge in edges])
    picture = picture.rotate(float(degrees), resample=image.Resampling.BICUBIC, expand=True, fillcolor=205)
    picture = picture.filter(filters.GaussianBlur(2.0))
    shaded(picture.resize((picture.width * 7 // 10, picture.height * 7 // 10))).save(out, quality=80)


main(*sys.argv[1:])
