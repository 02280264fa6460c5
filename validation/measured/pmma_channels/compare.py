#!/usr/bin/env python3
"""Channels cut in PMMA by a continuous CO2 laser: published width and depth against energy-limited removal.

None of the abstracts gives the spot. So the spot is taken from the published width, where the absorbed fluence falls to the
library's threshold, and the depth follows without anything left to choose:
    F(y) = sqrt(2/pi) A P/(v w) exp(-2 y^2/w^2),   F(width/2) = F_th(dwell 2w/v),   depth = (F(0) - F_th)/h
h [J/m^3] being the removal energy. Two spots may give one width; the larger is printed second.

    compare.py [--plot FILE]
"""

import math
import pathlib
import sys
import tomllib

import circumfluence as cf

DATA = tomllib.loads((pathlib.Path(__file__).resolve().parent / "data.toml").read_text())
PMMA = cf.parse_materials(DATA["polymer"]["record"])[0]


def fluence(channel, radius):
    """Absorbed on the middle of the track [J/m^2]."""
    return math.sqrt(2 / math.pi) * DATA["polymer"]["absorptivity"] * channel["power"] / (channel["speed"] * 1e-3 * radius)


def threshold(channel, radius):
    return cf.threshold(PMMA, start=293.0, dwell=2 * radius / (channel["speed"] * 1e-3))


def width(channel, radius):
    above = fluence(channel, radius) / threshold(channel, radius)
    return 2 * radius * math.sqrt(math.log(above) / 2) if above > 1 else 0.0


def spots(channel):
    """Radii [m] whose marked width is the published one."""
    radii = [1e-6 * 1.01**i for i in range(700)]
    off = [width(channel, r) - channel["width"] * 1e-6 for r in radii]
    return [r for r, a, b in zip(radii, off, off[1:]) if a * b < 0]


def depths(channel):
    for radius in spots(channel):
        yield radius, 1e6 * (fluence(channel, radius) - threshold(channel, radius)) / PMMA.removal_energy.value


def results():
    """Of two spots that give one width, the smaller."""
    found = {}
    for channel in DATA["channel"]:
        _, ours = next(depths(channel))
        found[f"depth, {channel['name']} [um]"] = channel["depth"], ours, ours / channel["depth"]
    return found


def plot(path):
    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    figure, axis = plt.subplots(figsize=(5, 4))
    for channel in DATA["channel"]:
        for radius, ours in depths(channel):
            axis.loglog(channel["depth"], ours, "o")
            axis.annotate(f"{channel['power']} W, w = {1e6 * radius:.0f} um", (channel["depth"], ours), fontsize=7)
    axis.plot([10, 400], [10, 400], "k-", lw=0.8)
    axis.set(xlabel="depth measured [um]", ylabel="depth computed [um]")
    figure.tight_layout()
    figure.savefig(path, dpi=90)


def main():
    print("| channel | spot radius [um] | depth published [um] | depth ours [um] | ours/published |\n| --- | --- | --- | --- | --- |")
    for channel in DATA["channel"]:
        for radius, ours in depths(channel):
            print(f"| {channel['name']} | {1e6 * radius:.0f} | {channel['depth']:.0f} | {ours:.0f} | {ours / channel['depth']:.2f} |")
    if "--plot" in sys.argv:
        plot(sys.argv[sys.argv.index("--plot") + 1])


if __name__ == "__main__":
    main()
