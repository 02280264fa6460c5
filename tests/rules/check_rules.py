#!/usr/bin/env python3
"""Holds the tree to its rules: which room includes which, who may see TOML, HDF5 and PNG, how large pieces are.

Prints the medians and every breach; exit status 1 where there is one. `--self-test` shows each rule fail once.
"""
import pathlib
import re
import statistics
import subprocess
import sys
import tempfile

ROOMS = ["quantity", "workpiece", "beam", "artwork", "motion", "exposure", "heat", "response", "appearance", "job", "mark",
         "look", "window", "calibration", "program"]
MAY_INCLUDE = {
    "quantity": "",
    "workpiece": "quantity",
    "beam": "quantity",
    "artwork": "quantity",
    "motion": "quantity workpiece artwork",
    "exposure": "quantity workpiece beam motion",
    "heat": "quantity workpiece beam motion exposure",
    "response": "quantity workpiece exposure heat",
    "appearance": "quantity workpiece artwork response",
    "job": "quantity workpiece beam artwork motion exposure heat response appearance",
    "mark": "quantity workpiece beam artwork motion exposure heat response appearance job",
    "look": "quantity workpiece artwork motion exposure heat response appearance job mark",
    "window": "quantity appearance job mark",
    "calibration": "quantity workpiece beam artwork motion response appearance job mark window",
    "program": "quantity job mark look window calibration",
}
ONLY_IN = {"toml++": {"job"}, "hdf5": {"mark", "look"}, "png.h": {"artwork"}, "turbojpeg": {"artwork"},
           "cairo": {"appearance"}, "pybind11": set(), "CLI/": {"program"},
           "opencv2": {"calibration"}, "nlopt": {"calibration"}, "ZXing": {"look"}}
TOP = {"CMakeLists.txt", "README.md", "DEVELOPERS.md", "sim", "bindings", "notebooks", "tests", "validation", "docs",
       "CMakePresets.json", "pyproject.toml", "LICENSE", "CHANGELOG.md", "CITATION.cff"}
MOST = {"header lines": 150, "source lines": 300, "function lines": 60, "headers a room": 9, "test lines": 450}
VAGUE = re.compile(r"(^|_)(utils?|common|core|engine|manager|helpers?)(_|$|\.)")


def functions(text):
    """Lengths of the function bodies of clang-formatted code: from a line at column 0 that opens `{` to `}`."""
    start = None
    for number, line in enumerate(text.splitlines(), 1):
        if start is None and re.match(r"[A-Za-z_~].*\)[^;]*\{$", line) and not line.startswith("namespace"):
            start = number
        elif start is not None and line.startswith("}"):
            yield start, number - start + 1
            start = None


def check(root):
    breaches, headers, sources, bodies = [], [], [], []
    for room in sorted((root / "sim").iterdir()):
        if not room.is_dir() or room.name == "demo":
            continue
        if room.name not in ROOMS:
            breaches.append(f"sim/{room.name}: not a room")
            continue
        own_headers = sorted(room.rglob("*.h"))
        if len(own_headers) > MOST["headers a room"]:
            breaches.append(f"sim/{room.name}: {len(own_headers)} headers (at most {MOST['headers a room']})")
        for path in own_headers + sorted(room.rglob("*.cpp")):
            text = path.read_text()
            name, lines = path.relative_to(root), text.count("\n")
            kind = "header" if path.suffix == ".h" else "source"
            (headers if kind == "header" else sources).append(lines)
            if lines > MOST[kind + " lines"]:
                breaches.append(f"{name}: {lines} lines (at most {MOST[kind + ' lines']})")
            if VAGUE.search(path.name):
                breaches.append(f"{name}: its name says nothing")
            for line, length in functions(text):
                bodies.append(length)
                if length > MOST["function lines"]:
                    breaches.append(f"{name}:{line}: a function of {length} lines (at most {MOST['function lines']})")
            breaches += includes(name, room.name, text)
    for path in sorted((root / "tests").rglob("*_test.cpp")):
        if (lines := path.read_text().count("\n")) > MOST["test lines"]:
            breaches.append(f"{path.relative_to(root)}: {lines} lines (at most {MOST['test lines']})")
    return breaches, headers, sources, bodies


def includes(name, room, text):
    for number, line in enumerate(text.splitlines(), 1):
        if not (found := re.match(r'#include [<"]([^>"]+)[>"]', line)):
            continue
        target = found.group(1)
        other = target.split("/")[0]
        if line.startswith('#include "') and other in ROOMS and other != room and other not in MAY_INCLUDE[room].split():
            yield f"{name}:{number}: {room} includes {target} (may include: {MAY_INCLUDE[room] or 'nothing'})"
        for library, allowed in ONLY_IN.items():
            if target.startswith(library) and room not in allowed:
                yield f"{name}:{number}: includes {target} (only in: {', '.join(sorted(allowed)) or 'bindings'})"


def top_level(root):
    tracked = subprocess.run(["git", "-C", root, "ls-files"], capture_output=True, text=True).stdout.split("\n")
    return [f"{name}: not on the agreed top level"
            for name in sorted({path.split("/")[0] for path in tracked if path}) if name not in TOP and not name.startswith(".")]


def self_test():
    with tempfile.TemporaryDirectory() as folder:
        root = pathlib.Path(folder)
        for room in ("beam", "core"):
            (root / "sim" / room).mkdir(parents=True)
        (root / "tests").mkdir()
        (root / "sim/beam/beam_utils.h").write_text('#include "heat/warmth.h"\n#include <toml++/toml.h>\n' + "\n" * 150)
        (root / "sim/beam/long.cpp").write_text("int f() {\n" + "\n" * 60 + "}\n" + "\n" * 300)
        for i in range(9):
            (root / f"sim/beam/h{i}.h").write_text("")
        breaches = check(root)[0]
        for part in ("not a room", "10 headers", "152 lines", "says nothing", "a function of 62", "beam includes heat", "only in: job",
                     "362 lines"):
            assert any(part in breach for breach in breaches), (part, breaches)


def main():
    self_test()
    root = pathlib.Path(sys.argv[1] if len(sys.argv) > 1 else ".").resolve()
    breaches, headers, sources, bodies = check(root)
    breaches += top_level(root)
    within = 100 * sum(b <= 30 for b in bodies) / max(len(bodies), 1)
    print(f"headers: median {statistics.median(headers):.0f} lines, most {max(headers)}; sources: median "
          f"{statistics.median(sources):.0f}, most {max(sources)}; functions: median {statistics.median(bodies):.0f}, "
          f"most {max(bodies)}, {within:.0f} % within 30")
    print("\n".join(breaches))
    return 1 if breaches else 0


if __name__ == "__main__":
    sys.exit(main())
