#!/usr/bin/env python3
"""Colours of oxidised silicon: a laboratory's chart against interference (film_colour.py), the check of the colour chain.

For each word: by how much [nm] the thickness has to be changed until the computed hue is one that the word allows.

    compare.py [--plot FILE]
"""

import math
import pathlib
import sys
import tomllib

import film_colour

DATA = tomllib.loads((pathlib.Path(__file__).resolve().parent / "data.toml").read_text())


def allowed(word, thickness):
    hue = film_colour.hue(film_colour.lab(thickness * 1e-9, film_colour.silica, "silicon"))
    least, most = DATA["family"][word]
    return any(least <= h <= most for h in (hue, hue + 360))


def shift(word, thickness):
    """Least change of thickness [nm] that makes the word right; NaN when 40 nm are not enough."""
    for step in range(41):
        for sign in (1, -1):
            if allowed(word, thickness + sign * step):
                return sign * step
    return math.nan


def results():
    """Shift of thickness [nm] that makes each word right, of the words that name a hue; 41 where 40 are not enough."""
    needed = {f"{word}, {nm} nm": shift(word, nm) for nm, word in DATA["chart"] if word in DATA["family"]}
    needed = {name: 41.0 if math.isnan(by) else float(by) for name, by in needed.items()}
    right = {name: by for name, by in needed.items() if by < 41}
    worst = max(right, key=lambda name: abs(right[name]))
    found = {f"{len(right)} words right; the farthest, {worst}": ("within 15 nm", f"{right[worst]:+.0f} nm", right[worst])}
    return found | {name: ("within 15 nm", "more than 40 nm", by) for name, by in needed.items() if by == 41}


def plot(path):
    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    figure, axis = plt.subplots(figsize=(11, 3.2))
    for nm in range(40, 650, 2):
        paint = film_colour.srgb(film_colour.lab(nm * 1e-9, film_colour.silica, "silicon"))
        axis.bar(nm, 1, width=2, color=paint)
    for nm, word in DATA["chart"]:
        axis.annotate(word, (nm, 1.02), rotation=60, fontsize=6)
    axis.set(xlabel="oxide [nm]", yticks=[], ylim=(0, 2))
    figure.tight_layout()
    figure.savefig(path, dpi=80)


def main():
    print("| nm | word | ours L* C* h | change needed [nm] |\n| --- | --- | --- | --- |")
    shifts = []
    for nm, word in DATA["chart"]:
        colour = film_colour.lab(nm * 1e-9, film_colour.silica, "silicon")
        needed = "no hue" if word not in DATA["family"] else shift(word, nm)
        if needed != "no hue":
            shifts.append(abs(needed))
        print(f"| {nm} | {word} | {colour[0]:.0f} {math.hypot(*colour[1:]):.0f} {film_colour.hue(colour):.0f} | {needed} |")
    within = sum(s <= 15 for s in shifts)  # NaN is not within
    print(f"{len(shifts)} words judged, {within} right within the tolerance of 15 nm")
    if "--plot" in sys.argv:
        plot(sys.argv[sys.argv.index("--plot") + 1])


if __name__ == "__main__":
    main()
