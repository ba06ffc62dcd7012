"""Which devices to add, once more, as one mixed-integer program, with HiGHS through scipy: a yardstick for speed, and a check.

    options.py PROBLEM.json COST [--repeats N]

PROBLEM.json comes from the Rust benchmark (`--dump`), COST is the best that it found: left out, short, tight, price and what
counts after that, with commas between. The model is that of the tests. Timed is what HiGHS takes to prove the best point's verdicts
and its price, neither the start of Python nor the making of the model, nor what each choice costs, which the problem holds. Ends
with an error where the optimum is another.
"""

import argparse
import json
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "crates/gainsay-plan/tests/options"))
import model  # noqa: E402


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("problem")
    parser.add_argument("cost")
    parser.add_argument("--repeats", type=int, default=3)
    arguments = parser.parse_args()
    with open(arguments.problem, encoding="utf-8") as file:
        (problem,) = json.load(file)
    # Changes and penalty count from the best line input behind each preamp; what they come to depends on which are bought.
    names = model.STAGES[: model.STAGES.index("price") + 1]
    rows, stages, _, _ = model.program(problem)
    solved = [rows.solve(stages[: len(names)]) for _ in range(arguments.repeats)]
    theirs = solved[0][0]
    ours = [int(number) for number in arguments.cost.split(",")][: len(names)]
    print(f"{len(problem['choices'])} choices of {len(problem['lines'])} lines")
    print(
        "optimum of the search and of HiGHS: "
        + ", ".join(f"{n} {a} and {b}" for n, a, b in zip(names, ours, theirs))
    )
    times = sorted(seconds * 1e3 for _, _, seconds in solved)
    print(f"HiGHS: best {times[0]:.1f} ms, median {times[len(times) // 2]:.1f} ms of {len(times)}")
    print(f"best_ms={times[0]:.3f}")
    if ours != theirs:
        sys.exit("the optima differ")


if __name__ == "__main__":
    main()
