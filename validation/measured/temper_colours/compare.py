#!/usr/bin/env python3
"""Temper colours of carbon steel: two charts against the parabolic growth of the record mild_steel.

The charts give no time. So the comparison is the time that the law needs to grow each colour's thickness: it should be
minutes to an hour at every colour.

    compare.py [--plot FILE]
"""

import math
import pathlib
import sys
import tomllib

import circumfluence as cf

DATA = tomllib.loads((pathlib.Path(__file__).resolve().parent / "data.toml").read_text())
STEEL = cf.material("mild_steel")
GROWTH = cf.Reaction(rate=STEEL.oxide_rate.value, activation=STEEL.oxide_activation.value)
MOST = 900.0  # [K] rise up to which doses are told apart


def rate(celsius):
    """Dose of one second's hold [m^2]."""
    return float(cf.Dose(reaction=GROWTH, times=[0.0, 1.0], shares=[1.0, 1.0], start=293.15, greatest=MOST).of(celsius - 20.0))


def results():
    """Oxide in ten minutes against the word's, in the record's spreads of the rate, of which thickness is the root."""
    found = {}
    for chart in ("blacksmith", "stockholder"):
        for celsius, word in DATA[chart]:
            nm, ours = DATA["nm"][word], 1e9 * math.sqrt(rate(celsius) * 600)
            found[f"{chart}'s chart, {word}, {celsius} degC [nm]"] = nm, ours, 2 * math.log(ours / nm) / STEEL.oxide_rate.spread
    return found


def plot(path):
    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    figure, axis = plt.subplots(figsize=(6, 4))
    for chart, mark in (("blacksmith", "o"), ("stockholder", "s")):
        axis.plot([c for c, _ in DATA[chart]], [DATA["nm"][word] for _, word in DATA[chart]], mark, label=chart + "'s chart")
    line = range(170, 345, 5)
    for minutes in (1, 10, 60):
        axis.plot(line, [1e9 * math.sqrt(rate(c) * 60 * minutes) for c in line], label=f"law, {minutes} min")
    axis.set(xlabel="temperature [degC]", ylabel="oxide [nm]", ylim=(0, 100))
    axis.legend()
    figure.tight_layout()
    figure.savefig(path, dpi=90)


def main():
    print("| chart | degC | word | nm | nm by the law in 10 min | ours/published | time the law needs |\n| --- | --- | --- | --- | --- | --- | --- |")
    for chart in ("blacksmith", "stockholder"):
        for celsius, word in DATA[chart]:
            nm = DATA["nm"][word]
            ours = 1e9 * math.sqrt(rate(celsius) * 600)
            print(f"| {chart} | {celsius} | {word} | {nm} | {ours:.1f} | {ours / nm:.2f} | {(nm * 1e-9) ** 2 / rate(celsius) / 60:.3g} min |")
    if "--plot" in sys.argv:
        plot(sys.argv[sys.argv.index("--plot") + 1])


if __name__ == "__main__":
    main()
