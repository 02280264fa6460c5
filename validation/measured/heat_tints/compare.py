#!/usr/bin/env python3
"""Colours that steel and titanium take in air: charts against film interference and the parabolic law.

Two questions, kept apart. Does the colour sequence follow from interference (thickness from the word alone)? And what does
the records' parabolic growth make of the temperature? Their constants are met by construction near 450 degC (304) and 500 degC
(titanium) only.

    compare.py [--plot FILE]
"""

import math
import pathlib
import sys
import tomllib

import circumfluence as cf

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "sio2_on_silicon"))
import film_colour  # noqa: E402

HERE = pathlib.Path(__file__).resolve().parent
DATA = tomllib.loads((HERE / "data.toml").read_text())
STEP, MOST = 0.5, 250.0  # thicknesses tried [nm]


def grown(record, celsius, duration):
    """Oxide [nm] after a hold, from a bare surface."""
    metal = cf.material(record)
    growth = cf.Reaction(rate=metal.oxide_rate.value, activation=metal.oxide_activation.value)
    hold = cf.Dose(reaction=growth, times=[0.0, duration], shares=[1.0, 1.0], start=293.15, greatest=2000)
    return 1e9 * float(cf.oxide(native=0.0, dose=hold.of(celsius - 20.0)))


def spreads(record, factor):
    """A factor of thickness in the record's spreads of the rate, of which thickness is the root."""
    return 2 * math.log(factor) / cf.material(record).oxide_rate.spread


def fits(word, colour):
    window = DATA["window"][word]
    hue, chroma = film_colour.hue(colour), math.hypot(colour[1], colour[2])
    return (any(window["hue"][0] <= h <= window["hue"][1] for h in (hue, hue + 360))
            and window["chroma"][0] <= chroma <= window["chroma"][1]
            and window["lightness"][0] <= colour[0] <= window["lightness"][1])


def thicknesses(word, body, index):
    """Least and most thickness [nm] of the first run of thicknesses whose colour is that word; None when there is none."""
    least = None
    for i in range(int(DATA["window"][word].get("from", 0) / STEP), int(MOST / STEP)):
        if fits(word, film_colour.lab(i * STEP * 1e-9, index, body)):
            least = i * STEP if least is None else least
        elif least is not None:
            return least, (i - 1) * STEP
    return None


def table(name):
    chart = DATA["table"][name]
    for celsius, word in chart["colours"]:
        yield celsius, word, thicknesses(word, chart["body"], chart["index"]), grown(chart["record"], celsius, chart["duration"])


def results():
    found = {}
    for key, chart in DATA["table"].items():
        name = key.replace("_", " ")
        rows = [(word, sum(span) / 2, ours) for _, word, span, ours in table(key)]
        word, published, ours = max(rows, key=lambda row: abs(math.log(row[2] / row[1])))
        found[f"{name}: oxide by the records' law, farthest of {len(rows)} colours ({word}) [nm]"] = published, ours, spreads(
            chart["record"], ours / published)
        disorder = sum(late[1] < early[1] for early, late in zip(rows, rows[1:]))
        found[f"{name}: colours out of the order of thickness"] = "none", f"{disorder} of {len(rows)}", float(disorder)
    return found


def plot(path):
    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    figure, axes = plt.subplots(1, len(DATA["table"]), figsize=(12, 4), squeeze=False)
    for axis, (name, chart) in zip(axes[0], DATA["table"].items()):
        for celsius, word, span, ours in table(name):
            if span:
                middle = sum(span) / 2
                paint = film_colour.srgb(film_colour.lab(middle * 1e-9, chart["index"], chart["body"]))
                axis.plot([celsius, celsius], span, color=paint, lw=9, solid_capstyle="butt")
                axis.annotate(word, (celsius, span[1]), fontsize=7, rotation=60)
        reach = [c for c, *_ in chart["colours"]]
        line = range(min(reach), max(reach) + 1, 5)
        sigma = math.exp(cf.material(chart["record"]).oxide_rate.spread / 2)
        middle = [grown(chart["record"], c, chart["duration"]) for c in line]
        axis.fill_between(line, [m / sigma for m in middle], [m * sigma for m in middle], alpha=0.2)
        axis.semilogy(line, middle)
        axis.set(title=name, xlabel="held at [degC]", ylabel="oxide [nm]", ylim=(1, 1000))
    figure.tight_layout()
    figure.savefig(path, dpi=70)


def main():
    print("| chart | degC | word | nm from the word | nm from the law | ours/published | in spreads |\n| --- | --- | --- | --- | --- | --- | --- |")
    for name, chart in DATA["table"].items():
        order, middles = True, []
        for celsius, word, span, ours in table(name):
            if span is None:
                print(f"| {name} | {celsius} | {word} | no such colour | {ours:.1f} | | |")
                continue
            middle = sum(span) / 2
            order = order and (not middles or middle >= middles[-1])
            middles.append(middle)
            factor = ours / middle
            print(f"| {name} | {celsius} | {word} | {span[0]:.0f} to {span[1]:.0f} | {ours:.1f} | {factor:.2f} | "
                  f"{spreads(chart['record'], factor):+.1f} |")
        print(f"{name}: colours {'come' if order else 'do NOT come'} in the order of thickness")
    if "--plot" in sys.argv:
        plot(sys.argv[sys.argv.index("--plot") + 1])


if __name__ == "__main__":
    main()
