"""Cutting stock by mixed-integer programming (scipy's milp, which is HiGHS): whether so many pieces are the least.

Argument: a JSON list of {lengths, piece, pieces}."""

import json
import sys

import numpy
from scipy.optimize import Bounds, LinearConstraint, milp


def fits(lengths, piece, pieces):
    """Whether all lengths can be cut from so many pieces: each length from one of them, none beyond its length."""
    count = len(lengths)
    # x[i, k]: length i is cut from piece k.
    once = numpy.zeros((count, count * pieces))
    room = numpy.zeros((pieces, count * pieces))
    for i, length in enumerate(lengths):
        for k in range(pieces):
            once[i, i * pieces + k] = 1
            room[k, i * pieces + k] = length
    rules = [LinearConstraint(once, 1, 1), LinearConstraint(room, 0, piece)]
    size = count * pieces
    answer = milp(numpy.zeros(size), constraints=rules, integrality=numpy.ones(size), bounds=Bounds(0, 1), options={"time_limit": 60})
    if answer.status not in (0, 2):
        sys.exit(f"no answer for {lengths} on {piece}: {answer.message}")
    return answer.status == 0


cases = json.loads(sys.argv[1])
least = sum(case["pieces"] <= 1 or not fits(case["lengths"], case["piece"], case["pieces"] - 1) for case in cases)
print(f"{least} of {len(cases)} are the least there can be")
