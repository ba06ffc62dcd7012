"""Allocation problems once more, as mixed-integer programs, solved with HiGHS through scipy.

    model.py PROBLEMS.json > OPTIMA.json

PROBLEMS.json is a list; each problem has

    lines       [[sources, changes if left out, rank], ...]
    points      how many there are; point 0 is the computer
    choices     [[line, place, short, tight, changes, penalty, cables, rank], ...]; short and tight count sources
    wires       [[from, to, channels, channels of a cable or 0, penalty of a channel], ...]
    ports       [{"wires": [[wire, channels of a port], ...], "count": n}, ...]
    supplies    [{"draws": [[choice, current], ...], "total": current}, ...]
    pairs       [[line, line], ...]
    forbidden   [[wire, ...], ...]: not all of them may be in use at once

and for each the optimum comes back: what counts first is settled first, and held while the next is sought. Problems that are plain
assignments of least cost ("assignment": true) are also given to scipy's linear_sum_assignment. Every solution is rounded to whole
numbers and checked with them before it counts.

Nothing here is taken from the program that is checked: only what the terms mean.
"""

import json
import sys
import time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linear_sum_assignment, milp
from scipy.sparse import csr_array


class Program:
    """Variables, all whole numbers, and rows of constraints."""

    def __init__(self):
        self.most = []
        self.rows = []
        self.low = []
        self.high = []
        self.seconds = 0.0

    def variable(self, most):
        self.most.append(most)
        return len(self.most) - 1

    def row(self, terms, low, high):
        self.rows.append(terms)
        self.low.append(low)
        self.high.append(high)

    def matrix(self):
        entries = [(row, column, value) for row, terms in enumerate(self.rows) for column, value in terms]
        rows, columns, values = zip(*entries) if entries else ((), (), ())
        # Terms of one variable in one row add up.
        return csr_array((np.array(values, float), (rows, columns)), shape=(len(self.rows), len(self.most)))

    def least(self, objective, also=()):
        """The least value of the objective; none if there is no solution. `also` holds rows that are to hold as well."""
        most = np.array(self.most, float)
        held = len(self.rows)
        for terms, low, high in also:
            self.row(terms, low, high)
        costs = np.zeros(len(self.most))
        for column, value in objective:
            costs[column] += value
        matrix = self.matrix()
        constraints = LinearConstraint(matrix, self.low, self.high) if self.rows else ()
        start = time.perf_counter()
        result = milp(
            costs,
            integrality=np.ones(len(self.most)),
            bounds=Bounds(0, most),
            constraints=constraints,
            options={"mip_rel_gap": 0},
        )
        self.seconds += time.perf_counter() - start
        low, high = np.array(self.low), np.array(self.high)
        del self.rows[held:], self.low[held:], self.high[held:]
        if result.status == 2:
            return None
        if result.status != 0:
            raise RuntimeError(f"HiGHS ends with status {result.status}: {result.message}")
        whole = np.rint(result.x)
        values = matrix @ whole
        if (whole < 0).any() or (whole > most).any() or (values < low).any() or (values > high).any():
            raise RuntimeError("the rounded solution breaks a constraint")
        return int(round(float(costs @ whole)))


def solve(problem):
    program = Program()
    lines, choices, wires = problem["lines"], problem["choices"], problem["wires"]
    n_lines = len(lines)
    if not n_lines:
        return {"left_out": 0, "short": 0, "tight": 0, "changes": 0, "penalty": 0, "cables": 0, "seconds": 0.0}
    chosen = [program.variable(1) for _ in choices]
    left_out = [program.variable(1) for _ in lines]
    # No wire needs more channels than there are lines.
    most = [min(wire[2], n_lines) for wire in wires]
    channels = [program.variable(limit) for limit in most]

    # A line has one place or none.
    for line in range(n_lines):
        terms = [(chosen[i], 1) for i, choice in enumerate(choices) if choice[0] == line]
        program.row([*terms, (left_out[line], 1)], 1, 1)

    # What begins at a point or comes in goes out, save at the computer.
    for point in range(1, problem["points"]):
        terms = [(channels[w], 1) for w, wire in enumerate(wires) if wire[0] == point]
        terms += [(channels[w], -1) for w, wire in enumerate(wires) if wire[1] == point]
        terms += [(chosen[i], -1) for i, choice in enumerate(choices) if choice[1] == point]
        if terms:
            program.row(terms, 0, 0)

    def whole_units(wire, per):
        """A count that is at least channels/per: the next whole number of ports or cables."""
        count = program.variable(-(-most[wire] // per))
        program.row([(count, per), (channels[wire], -1)], 0, np.inf)
        return count

    for ports in problem["ports"]:
        taken = [(whole_units(wire, per), 1) for wire, per in ports["wires"]]
        program.row(taken, -np.inf, ports["count"])

    for supply in problem["supplies"]:
        program.row([(chosen[i], current) for i, current in supply["draws"]], -np.inf, supply["total"])

    # Both sides of a pair at one place: if one is at a place, the other is there or left out.
    for pair in problem["pairs"]:
        for one, other in (pair, pair[::-1]):
            places = {choice[1] for choice in choices if choice[0] == one}
            for place in places:
                here = [(chosen[i], 1) for i, c in enumerate(choices) if c[0] == one and c[1] == place]
                there = [(chosen[i], -1) for i, c in enumerate(choices) if c[0] == other and c[1] == place]
                program.row([*here, *there, (left_out[other], -1)], -np.inf, 0)

    used = {}
    for wires_of_set in problem["forbidden"]:
        distinct = sorted(set(wires_of_set))
        for wire in distinct:
            if wire not in used:
                used[wire] = program.variable(1)
                program.row([(used[wire], most[wire]), (channels[wire], -1)], 0, np.inf)
        program.row([(used[wire], 1) for wire in distinct], -np.inf, len(distinct) - 1)

    cables = [(whole_units(w, wire[3]), 1) for w, wire in enumerate(wires) if wire[3] > 0]
    cables += [(chosen[i], choice[6]) for i, choice in enumerate(choices)]
    sources = [(left_out[line], of[0]) for line, of in enumerate(lines)]
    short, tight, changes = ([(chosen[i], choice[at]) for i, choice in enumerate(choices)] for at in (2, 3, 4))
    changes += [(left_out[line], of[1]) for line, of in enumerate(lines)]
    penalty = [(chosen[i], choice[5]) for i, choice in enumerate(choices)]
    penalty += [(channels[w], wire[4]) for w, wire in enumerate(wires)]

    held = []

    optimum = {}
    for name, objective in (
        ("left_out", sources),
        ("short", short),
        ("tight", tight),
        ("changes", changes),
        ("penalty", penalty),
        ("cables", cables),
    ):
        value = program.least(objective, held)
        if value is None:
            raise RuntimeError("an optimum that was held can't be kept")
        held.append((objective, -np.inf, value))
        optimum[name] = value
    optimum["seconds"] = program.seconds
    return optimum


def assignment(problem):
    """Least penalty of a plain assignment of as many lines as possible, by another algorithm."""
    places = sorted({choice[1] for choice in problem["choices"]})
    costs = np.zeros((len(problem["lines"]), len(places)))
    for line, place, _, _, _, penalty, _, _ in problem["choices"]:
        costs[line, places.index(place)] = penalty
    rows, columns = linear_sum_assignment(costs)
    return int(round(costs[rows, columns].sum()))


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        problems = json.load(file)
    optima = []
    for problem in problems:
        try:
            optimum = solve(problem)
        except RuntimeError as error:
            optimum = {"error": str(error)}
        if problem.get("assignment"):
            optimum["assignment"] = assignment(problem)
        optima.append(optimum)
    json.dump(optima, sys.stdout)


if __name__ == "__main__":
    main()
