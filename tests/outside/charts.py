"""Reads charts as a spreadsheet program would take them, with the csv module of Python: `charts.py FOLDER`.

Every file must be UTF-8 with a byte order mark, have rows as long as its header, and no cell that a spreadsheet would run. Prints
the cells of all files as JSON.
"""

import csv
import json
import pathlib
import sys

FORMULA = tuple("=+-@") + ("\uff1d", "\uff0b", "\uff0d", "\uff20", "\t", "\r", "\n")

read = {}
for path in sorted(pathlib.Path(sys.argv[1]).iterdir()):
    assert path.read_bytes().startswith(b"\xef\xbb\xbf"), f"{path.name} has no byte order mark"
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file, strict=True))
    assert rows, f"{path.name} is empty"
    for row in rows:
        assert len(row) == len(rows[0]), f"{path.name}: {row}"
        for cell in row:
            assert not cell.startswith(FORMULA), f"{path.name}: {cell!r}"
    read[path.name] = rows
print(json.dumps(read))
