"""The program against its twins on the whole bottle: paired runs in turn (A B A B ...), then their results.

Usage: compare.py BUILD [--runs 9] [--folder FOLDER]. BUILD holds bin/circumfluence and tests/benchmarks/mark_benchmark.
Ratios are twin over program, pair by pair: median [least-greatest]. The twins run on huge pages (the faster way for
them) and Numba with its compiled code on disk.
"""

import argparse
import json
import os
import pathlib
import statistics
import subprocess
import sys
import time

import h5py
import numpy as np

import twin_case

HERE = pathlib.Path(__file__).parent
TWIN_ENVIRONMENT = dict(os.environ, GLIBC_TUNABLES="glibc.malloc.hugetlb=1")


def twin_command(name, *arguments):
    return ["/usr/bin/python3", str(HERE / f"twin_{name}.py"), *map(str, arguments)]


def run(command, environment=None):
    """Wall seconds, CPU seconds and greatest resident MiB of a process, and what it printed."""
    start = time.perf_counter()
    process = subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True)
    said = process.stdout.read()
    _, status, used = os.wait4(process.pid, 0)
    wall = time.perf_counter() - start
    if status != 0:
        sys.exit(f"failed: {' '.join(command)}")
    return wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, said


def spread(values, digits=2):
    return f"{statistics.median(values):.{digits}f} [{min(values):.{digits}f}-{max(values):.{digits}f}]"


def check(record, raw, case):
    """Largest differences of a twin's layers from the program's."""
    shape, at, words = (case.rows, case.columns), 0, []
    with h5py.File(record) as file:
        for name in twin_case.LAYERS:
            kind = np.uint8 if name in ("outcome", "wanted") else np.float32
            twin = np.fromfile(raw, kind, shape[0] * shape[1], offset=at).reshape(shape)
            at += twin.nbytes
            ours = file[name][:]
            if kind is np.uint8:
                words.append(f"{name} {np.count_nonzero(ours != twin)} cells")
            elif name == "margin":  # factors that any laser could reach
                counts = ours < 100
                words.append(f"{name} {np.max(np.abs(twin[counts] / ours[counts] - 1)):.1e}")
            else:
                scale = np.max(ours) - (case.start if name == "peak_temperature" else 0)
                words.append(f"{name} {np.max(np.abs(ours.astype(float) - twin)) / scale:.1e}")
    return ", ".join(words)


def whole_process(program, case, folder, runs, fresh):
    record, raw = folder / "bottle.mark.h5", {name: folder / f"{name}.raw" for name in ("numpy", "numba")}
    ours = [str(program), "predict", str(case / "bottle.toml"), "--no-pictures", "--no-intervals", "--folder", str(folder)]
    figures = {"program": [], "numpy": [], "numba": []}
    for _ in range(runs):
        for name in figures:
            if fresh:
                (record if name == "program" else raw[name]).unlink(missing_ok=True)
            figures[name].append(run(ours) if name == "program" else run(twin_command(name, case, raw[name]), TWIN_ENVIRONMENT))
    return figures


def in_process(benchmark, case, runs):
    figures = {"program": [], "numpy": [], "numba": []}
    for _ in range(runs):
        for name in figures:
            command = [str(benchmark), "--repeat", "5"] if name == "program" else twin_command(name, case, "--repeat", 5)
            times = json.loads(run(command, TWIN_ENVIRONMENT)[3])
            figures[name].append((statistics.median(times), min(times)))
    return figures


def table(title, figures, resident):
    print(f"\n{title}\n\n| | wall, s | {'CPU, s | peak RSS, MiB' if resident else 'least, s'} | twin / program, by pair | by minima |")
    print("| --- | --- | --- | --- |" + (" --- | --- |" if resident else " --- |"))
    for name, rows in figures.items():
        walls = [row[0] for row in rows]
        ratios = [row[0] / ours[0] for row, ours in zip(rows, figures["program"])]
        least = min(walls) / min(row[0] for row in figures["program"])
        middle = f"{spread([r[1] for r in rows])} | {statistics.median(r[2] for r in rows):.0f}" if resident else f"{min(r[1] for r in rows):.3f}"
        print(f"| {name} | {spread(walls, 3)} | {middle} | {spread(ratios, 1)} | {least:.1f} |")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("build", type=pathlib.Path)
    parser.add_argument("--runs", type=int, default=9)
    parser.add_argument("--folder", type=pathlib.Path, default=pathlib.Path("."))
    options = parser.parse_args()
    program, benchmark = options.build / "bin/circumfluence", options.build / "tests/benchmarks/mark_benchmark"
    case_folder = options.build / "tests/benchmarks/case"
    (case_folder / "tables.json").write_text(run([str(benchmark), "--tables"])[3])

    whole_process(program, case_folder, options.folder, 1, False)  # warms up, compiles, and leaves the results
    for fresh in (True, False):
        table(f"Whole process, {'new files' if fresh else 'files overwritten'}",
              whole_process(program, case_folder, options.folder, options.runs, fresh), True)
    table("In process, arrays kept, no file", in_process(benchmark, case_folder, max(3, options.runs // 2)), False)
    # Last: a process begins with the resident size of the one that started it, which the maps would swell.
    case = twin_case.read_case(case_folder)
    for name in ("numpy", "numba"):
        print(f"{name}: {check(options.folder / 'bottle.mark.h5', options.folder / f'{name}.raw', case)}")


if __name__ == "__main__":
    main()
