#!/usr/bin/env python3
"""Measured shares of laser light that metals take in against the library's records (cold, clean, polished).

    compare.py [--plot FILE]
"""

import math
import pathlib
import sys
import tomllib

import circumfluence as cf

DATA = tomllib.loads((pathlib.Path(__file__).resolve().parent / "data.toml").read_text())


def record(material, wavelength):
    return cf.material(material).optics_at(wavelength).absorptivity


def rows():
    """Quantity, least and most published, ours, spread of ours (of its logarithm)."""
    for check in DATA["check"]:
        ours = record(check["material"], check["wavelength"])
        yield check["quantity"], *check["published"], ours.value, ours.spread
    for check in DATA["ratio"]:
        first, second = (record(check["material"], w) for w in check["wavelengths"])
        yield check["quantity"], check["published"], check["published"], first.value / second.value, math.hypot(first.spread, second.spread)


def results():
    """The difference from the nearer end of what is published, in the record's spreads."""
    found = {}
    for quantity, least, most, ours, spread in rows():
        nearer = least if ours < least else most if ours > most else ours
        found[quantity] = f"{least:g}" if least == most else f"{least:g} to {most:g}", ours, math.log(ours / nearer) / spread
    return found


def plot(path):
    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    figure, axis = plt.subplots(figsize=(8, 3.2))
    for i, (quantity, least, most, ours, spread) in enumerate(rows()):
        axis.plot([least, most], [i, i], "C1o-", lw=6)
        axis.errorbar(ours, i + 0.25, xerr=[[ours * (1 - math.exp(-spread))], [ours * (math.exp(spread) - 1)]], fmt="C0o")
        axis.annotate(quantity, (0.012, i - 0.1), fontsize=7)
    axis.set(xscale="log", xlim=(0.01, 4), yticks=[], xlabel="share taken in (orange measured, blue ours); last row: a ratio")
    figure.tight_layout()
    figure.savefig(path, dpi=90)


def main():
    print("| quantity | published | ours | ours/nearer end | in spreads of ours |\n| --- | --- | --- | --- | --- |")
    for quantity, least, most, ours, spread in rows():
        factor = 1.0 if least <= ours <= most else ours / (least if ours < least else most)
        print(f"| {quantity} | {least:g} to {most:g} | {ours:.3f} | {factor:.2f} | {math.log(factor) / spread:+.1f} |")
    if "--plot" in sys.argv:
        plot(sys.argv[sys.argv.index("--plot") + 1])


if __name__ == "__main__":
    main()
