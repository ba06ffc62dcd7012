"""Which devices to add, and what then goes where, as one mixed-integer program, solved with HiGHS through scipy.

    model.py PROBLEMS.json > OPTIMA.json

PROBLEMS.json is a list; each problem is an allocation as `../allocation/model.py` reads it (lines, points, choices, wires, ports,
supplies, pairs, forbidden) of everything that there could be, and beyond that

    devices      [[how many are there, how many may be added, price of one], ...]; a price of 0 is always added
    boxes        [[device, which of several, from 0], ...]
    box_of       for each point its box, or null
    resource_of  for each supply the device that it counts, or null: its total is less by what is not added
    needs        for each choice the device of which at least one has to be there for it, or null
    budget       the most that may be spent, or null
    clashes      [{"wires": [...], "counts": [...], "in_use": [...]}, ...]: the wires can't all be in use, unless there is more of
                 a device than its count, or a digital wire or one to the computer is in use beyond those
    frontier     whether what is cheaper than the best, and worse, is wanted too

What counts first is settled first, and held while the next is sought: left out, short, tight, price, changes, penalty, devices.
For each problem its points come back, from the best to the cheapest, each with the counts of devices and the channels on wires.
Every solution is rounded to whole numbers and checked with them before it counts.

Nothing here is taken from the program that is checked: only what the terms mean.
"""

import json
import sys
import time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

STAGES = ("left_out", "short", "tight", "price", "changes", "penalty", "devices")


class Rows:
    """Rows of whole-number constraints over whole-number variables."""

    def __init__(self):
        self.most = []
        self.entries = []
        self.low = []
        self.high = []

    def variable(self, most=1, least=0):
        self.most.append((least, most))
        return len(self.most) - 1

    def row(self, terms, high, low=-np.inf):
        self.entries.append(terms)
        self.low.append(low)
        self.high.append(high)

    def solve(self, stages):
        """Values of the stages, one after the other, the last solution, and the seconds that HiGHS took; none without solution."""
        least, most = np.array(self.most, float).T
        entries, low, high = list(self.entries), list(self.low), list(self.high)
        values, seconds = [], 0.0
        whole = None
        for objective in stages:
            costs = np.zeros(len(least))
            for column, value in objective:
                costs[column] += value
            # What the last solution comes to may be the least already by its bounds.
            if whole is None or float(costs @ whole) > float(np.where(costs > 0, costs * least, costs * most).sum()):
                flat = [(row, column, value) for row, terms in enumerate(entries) for column, value in terms]
                rows, columns, factors = zip(*flat)
                matrix = csr_array((np.array(factors, float), (rows, columns)), shape=(len(entries), len(least)))
                start = time.perf_counter()
                result = milp(
                    costs,
                    integrality=np.ones(len(least)),
                    bounds=Bounds(least, most),
                    constraints=LinearConstraint(matrix, low, high),
                    options={"mip_rel_gap": 0},
                )
                seconds += time.perf_counter() - start
                if result.status == 2 and whole is None:
                    return None
                if result.status != 0:
                    raise RuntimeError(f"HiGHS ends with status {result.status}: {result.message}")
                whole = np.rint(result.x)
                held = matrix @ whole
                if (whole < least).any() or (whole > most).any() or (held < low).any() or (held > high).any():
                    raise RuntimeError("the rounded solution breaks a constraint")
            value = int(round(float(costs @ whole)))
            values.append(value)
            if objective:
                entries.append(objective)
                low.append(-np.inf)
                high.append(value)
        return values, whole, seconds


def program(problem):
    """Rows, the stages, and variables of counts and channels."""
    rows = Rows()
    lines, choices, wires = problem["lines"], problem["choices"], problem["wires"]
    n_lines = len(lines)
    added = [
        [rows.variable(least=1 if price == 0 else 0) for _ in range(most)] for _, most, price in problem["devices"]
    ]
    for copies in added:
        for one, next_one in zip(copies, copies[1:]):
            rows.row([(next_one, 1), (one, -1)], 0)

    def there(point):
        """The variable that says whether a point's box is there; none where it is there anyway."""
        box = problem["box_of"][point]
        if box is None:
            return None
        device, copy = problem["boxes"][box]
        base = problem["devices"][device][0]
        return None if copy < base else added[device][copy - base]

    chosen = [rows.variable() for _ in choices]
    left_out = [rows.variable() for _ in lines]
    most = [min(wire[2], n_lines) for wire in wires]
    channels = [rows.variable(limit) for limit in most]
    for line in range(n_lines):
        rows.row([(x, 1) for x, c in zip(chosen, choices) if c[0] == line] + [(left_out[line], 1)], 1, 1)
    for x, choice in zip(chosen, choices):
        box = there(choice[1])
        if box is not None:
            rows.row([(x, 1), (box, -1)], 0)
    for x, device in zip(chosen, problem["needs"]):
        if device is not None and problem["devices"][device][0] == 0:
            rows.row([(x, 1), *((one, -1) for one in added[device])], 0)
    for flow, limit, wire in zip(channels, most, wires):
        for box in {there(wire[0]), there(wire[1])} - {None}:
            rows.row([(flow, 1), (box, -limit)], 0)
    balance = [[] for _ in range(problem["points"])]
    for x, choice in zip(chosen, choices):
        balance[choice[1]].append((x, 1))
    for flow, wire in zip(channels, wires):
        balance[wire[0]].append((flow, -1))
        balance[wire[1]].append((flow, 1))
    for terms in balance[1:]:
        if terms:
            rows.row(terms, 0, 0)
    for ports in problem["ports"]:
        taken = []
        for wire, per in ports["wires"]:
            n = rows.variable(-(-most[wire] // per))
            rows.row([(channels[wire], 1), (n, -per)], 0)
            taken.append((n, 1))
        rows.row(taken, ports["count"])
    for supply, device in zip(problem["supplies"], problem["resource_of"]):
        terms = [(chosen[choice], drawn) for choice, drawn in supply["draws"]]
        total = supply["total"]
        if device is not None:
            total -= len(added[device])
            terms += [(one, -1) for one in added[device]]
        rows.row(terms, total)
    for pair in problem["pairs"]:
        for one, other in (pair, pair[::-1]):
            for place in {c[1] for c in choices if c[0] == one}:
                here = [(x, 1) for x, c in zip(chosen, choices) if c[0] == one and c[1] == place]
                there_too = [(x, -1) for x, c in zip(chosen, choices) if c[0] == other and c[1] == place]
                rows.row([*here, *there_too, (left_out[other], -1)], 0)
    carries = [wire for wire, (_, to, _, per, _) in enumerate(wires) if to == 0 or per > 0]
    used = {}

    def in_use(wire):
        if wire not in used:
            used[wire] = rows.variable()
            rows.row([(channels[wire], 1), (used[wire], -most[wire])], 0)
            rows.row([(used[wire], 1), (channels[wire], -1)], 0)
        return used[wire]

    for pair in problem["forbidden"]:
        rows.row([(in_use(wire), 1) for wire in pair], 1)
    for clash in problem["clashes"]:
        of = clash["wires"]
        terms = [(in_use(wire), 1) for wire in of]
        beyond = set(carries) - set(clash["in_use"])
        terms += [(in_use(wire), -len(of)) for wire in sorted(beyond)]
        for copies, (base, _, _), count in zip(added, problem["devices"], clash["counts"]):
            terms += [(one, -len(of)) for one in copies[count - base :]]
        rows.row(terms, len(of) - 1)
    price = [(one, of[2]) for copies, of in zip(added, problem["devices"]) for one in copies if of[2]]
    stages = {
        "left_out": [(out, line[0]) for out, line in zip(left_out, lines) if line[0]],
        "short": [(x, c[2]) for x, c in zip(chosen, choices) if c[2]],
        "tight": [(x, c[3]) for x, c in zip(chosen, choices) if c[3]],
        "price": price,
        "changes": [(x, c[4]) for x, c in zip(chosen, choices) if c[4]]
        + [(out, line[1]) for out, line in zip(left_out, lines) if line[1]],
        "penalty": [(x, c[5]) for x, c in zip(chosen, choices) if c[5]]
        + [(flow, wire[4]) for flow, wire in zip(channels, wires) if wire[4]],
        "devices": [(one, 1) for copies in added for one in copies],
    }
    if problem["budget"] is not None:
        rows.row(price, problem["budget"])
    return rows, [stages[name] for name in STAGES], added, channels


def solve(problem):
    rows, stages, added, channels = program(problem)
    price = stages[STAGES.index("price")]
    points = []
    while True:
        solved = rows.solve(stages)
        if solved is None:
            break
        values, whole, seconds = solved
        counts = [
            base + sum(int(whole[one]) for one in copies) for copies, (base, _, _) in zip(added, problem["devices"])
        ]
        point = dict(zip(STAGES, values))
        point.update(counts=counts, channels=[int(whole[flow]) for flow in channels], seconds=seconds)
        points.append(point)
        if not problem["frontier"] or point["price"] == 0:
            break
        rows.row(price, point["price"] - 1)
    return points


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        problems = json.load(file)
    optima = []
    for problem in problems:
        try:
            optima.append(solve(problem))
        except RuntimeError as error:
            optima.append({"error": str(error)})
    json.dump(optima, sys.stdout)


if __name__ == "__main__":
    main()
