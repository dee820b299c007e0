"""Are lines of mixed scripts broken, ordered and shaped as they should be? Asked of FriBidi, HarfBuzz and fontTools.

    shaping.py LINES.json

LINES.json: {"faces": {name: [file, number]}, "lines": [{"text", "cap", "runs": [{"face", "em", "x", "bounds":
[left, top, width, height], "glyphs": [[id, advance, along, up, text]]}]}]}, lengths in mm, glyphs in units of their face.
The ink of every line begins at or right of x = 0, on a baseline at y = 0, y down.
"""

import json
import sys
from pathlib import Path

from tools import close, module, run, same

hb = module("uharfbuzz")
ttlib = module("fontTools.ttLib")
bounds_pen = module("fontTools.pens.boundsPen")


class Face:
    """A font file as HarfBuzz and fontTools read it."""

    def __init__(self, path, number):
        self.hb = hb.Font(hb.Face(hb.Blob.from_file_path(path), number))
        self.tt = ttlib.TTFont(path, fontNumber=number if Path(path).suffix == ".ttc" else -1)
        self.em = self.tt["head"].unitsPerEm
        self.glyphs, self.order, self.cmap = self.tt.getGlyphSet(), self.tt.getGlyphOrder(), self.tt.getBestCmap()
        self.boxes = {}

    def box(self, glyph):
        """Extent of a glyph's ink in units; None for a blank."""
        if glyph not in self.boxes:
            pen = bounds_pen.BoundsPen(self.glyphs)
            self.glyphs[self.order[glyph]].draw(pen)
            self.boxes[glyph] = pen.bounds
        return self.boxes[glyph]

    def capital(self):
        """Height of the H in parts of the em."""
        return self.box(self.tt.getGlyphID(self.cmap[ord("H")]))[3] / self.em


def bidi(texts):
    """For each text its visual order, as places in it from left to right, and the level of each of its characters."""
    # A position map stands on a line of its own; --nobreak keeps long lines whole.
    lines = run("fribidi", "--nobreak", "--novisual", "--vtol", "--levels", stdin="\n".join(texts) + "\n").splitlines()
    numbers = [[int(word) for word in line.split()] for line in lines if line.strip()]
    same("answers of fribidi", len(numbers), 2 * len(texts))
    return list(zip(numbers[0::2], numbers[1::2]))


def shaped(face, text, places, level, is_own):
    """What HarfBuzz makes of a stretch of the text: glyphs with advances and offsets, from left to right."""
    buffer = hb.Buffer()
    buffer.add_str(text, places[0], len(places))
    buffer.direction = "rtl" if level % 2 else "ltr"
    buffer.guess_segment_properties()
    # What is common to all scripts is drawn by the Latin faces as Latin.
    if is_own and buffer.script in (None, "Zyyy", "Zinh", "Zzzz"):
        buffer.script = "Latn"
    buffer.language = "und"
    hb.shape(face.hb, buffer)
    glyphs = zip(buffer.glyph_infos, buffer.glyph_positions)
    return [[info.codepoint, at.x_advance, at.x_offset, at.y_offset] for info, at in glyphs]


def check_line(line, order, levels, faces):
    text = line["text"]
    # Ink that hangs out before its pen moves the line on.
    pen, seen = line["runs"][0]["x"], 0
    for item in line["runs"]:
        what = f"{text!r}, run at {seen}"
        drawn = "".join(glyph[4] for glyph in item["glyphs"])
        places = sorted(order[seen : seen + len(drawn)])
        seen += len(drawn)
        same(f"{what}: one stretch of the text", places, list(range(places[0], places[0] + len(places))))
        level = levels[places[0]]
        same(f"{what}: one level", {levels[place] for place in places}, {level})
        clusters = [glyph[4] for glyph in item["glyphs"] if glyph[4]]
        if level % 2:
            clusters.reverse()
        same(f"{what}: characters", "".join(clusters), text[places[0] : places[-1] + 1])

        face = faces[item["face"]]
        is_own = not item["face"].startswith("Fallback")
        wanted = shaped(face, text, places, level, is_own)
        same(f"{what}: glyphs of {drawn!r} in {item['face']}", [glyph[:4] for glyph in item["glyphs"]], wanted)
        same(f"{what}: nothing is missing", 0 in [glyph[0] for glyph in wanted], False)

        close(f"{what}: height of capitals", [item["em"] * face.capital()], [line["cap"]], 0.001)
        close(f"{what}: starts where the one before ended", [item["x"]], [pen], 0.001)
        unit = item["em"] / face.em
        left, top, width, height = item["bounds"]
        for glyph, advance, along, up, _ in item["glyphs"]:
            box = face.box(glyph)
            if box is not None:
                ink = [pen + (box[0] + along) * unit, -(box[3] + up) * unit, pen + (box[2] + along) * unit, -(box[1] + up) * unit]
                within = ink[0] > left - 0.01 and ink[1] > top - 0.01 and ink[2] < left + width + 0.01 and ink[3] < top + height + 0.01
                same(f"{what}: ink {ink} within {item['bounds']}", within and ink[0] > -0.001, True)
            pen += advance * unit
    same(f"{text!r}: all is drawn", seen, len(text))


def main(path):
    data = json.loads(Path(path).read_text(encoding="utf-8"))
    faces = {name: Face(*file) for name, file in data["faces"].items()}
    answers = bidi([line["text"] for line in data["lines"]])
    for line, (order, levels) in zip(data["lines"], answers):
        check_line(line, order, levels, faces)
    print(f"{len(data['lines'])} lines in {sum(len(line['runs']) for line in data['lines'])} runs")


main(*sys.argv[1:])
