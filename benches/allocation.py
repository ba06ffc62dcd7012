"""The allocation once more, as a mixed-integer program, with HiGHS through scipy: a yardstick for speed, and a check.

    allocation.py PROBLEM.json COST [--repeats N]

PROBLEM.json comes from the Rust benchmark (`--dump`), COST is what it found: left out, short, tight, changes, penalty,
cables, with commas between. The model is that of the tests. Timed is what HiGHS takes for all stages, neither the start of Python nor the
making of the model. Ends with an error where the optimum is another.
"""

import argparse
import json
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "crates/gainsay-plan/tests/allocation"))
import model  # noqa: E402


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("problem")
    parser.add_argument("cost")
    parser.add_argument("--repeats", type=int, default=5)
    arguments = parser.parse_args()
    with open(arguments.problem, encoding="utf-8") as file:
        (problem,) = json.load(file)
    optima = [model.solve(problem) for _ in range(arguments.repeats)]
    names = ("left_out", "short", "tight", "changes", "penalty", "cables")
    theirs = [optima[0][name] for name in names]
    ours = [int(number) for number in arguments.cost.split(",")]
    print("optimum of this engine and of HiGHS: " + ", ".join(f"{n} {a} and {b}" for n, a, b in zip(names, ours, theirs)))
    times = sorted(optimum["seconds"] * 1e3 for optimum in optima)
    print(f"HiGHS: best {times[0]:.1f} ms, median {times[len(times) // 2]:.1f} ms of {len(times)}")
    print(f"best_ms={times[0]:.3f}")
    if ours != theirs:
        sys.exit("the optima differ")


if __name__ == "__main__":
    main()
