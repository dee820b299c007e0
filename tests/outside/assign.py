"""Assignments by scipy's linear_sum_assignment: as many rows as can be, and of these the least cost.

Argument: a JSON list of {costs, met, cost}; null in costs where row and column do not go together."""

import json
import sys

import numpy
from scipy.optimize import linear_sum_assignment

# More than any assignment of the cases costs, and exact in a double together with them.
APART = 10**10

cases = json.loads(sys.argv[1])
right = 0
for case in cases:
    costs = numpy.array([[APART if cost is None else cost for cost in row] for row in case["costs"]], dtype=float)
    rows, columns = linear_sum_assignment(costs)
    taken = [costs[row, column] for row, column in zip(rows, columns) if costs[row, column] < APART]
    right += (len(taken), int(sum(taken))) == (case["met"], case["cost"])
print(f"{right} of {len(cases)} are the best there can be")
