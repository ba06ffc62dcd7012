"""Times `gainsay check` of the demo from the start of its process, and prints its peak memory.

    demo.py PROGRAM [--repeats N]
"""

import argparse
import pathlib
import resource
import subprocess
import tempfile
import time


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("program", type=pathlib.Path)
    arguments.add_argument("--repeats", type=int, default=20)
    options = arguments.parse_args()
    program = options.program.resolve()
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([program, "demo", folder + "/demo"], check=True, stdout=subprocess.DEVNULL)
        case = folder + "/demo/quintet.toml"
        times, codes = [], set()
        for _ in range(options.repeats):
            start = time.perf_counter()
            codes.add(subprocess.run([program, "check", case], stdout=subprocess.DEVNULL).returncode)
            times.append(time.perf_counter() - start)
    times.sort()
    # Kilobytes on Linux. The largest of all children: the demo's own writing is smaller than a check.
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    print(f"best {times[0] * 1e3:.1f} ms, median {times[len(times) // 2] * 1e3:.1f} ms of {options.repeats}")
    print(f"peak memory {peak / 1024:.1f} MiB; exit codes {sorted(codes)}")


if __name__ == "__main__":
    main()
