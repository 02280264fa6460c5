#!/usr/bin/env python3
"""How fast wood, cork and leather go: published oven and fire tests against the records' one-step kinetics.

da/dt = A e^(-E/RT) (1 - alpha). The fire test heats a thick wood slab by a
constant flux with losses; its surface temperature when 2 g/(m^2 s) leave is what is compared with that at ignition.

    compare.py [--plot FILE]
"""

import math
import pathlib
import sys
import tomllib

import circumfluence as cf
import numpy as np

DATA = tomllib.loads((pathlib.Path(__file__).resolve().parent / "data.toml").read_text())
GAS = 8.314462618  # [J/(mol K)]
BIRCH = cf.material("birch")
WOOD = {key: getattr(BIRCH, key).value for key in ("density", "heat_capacity", "conductivity")}
LOSS, CRITICAL = 30.0, 2e-3  # convection and radiation [W/(m^2 K)], linear; mass flux at which a flame holds [kg/(m^2 s)]


def law(record):
    """Rate [1/s] and activation [K] of a record."""
    body = cf.material(record)
    return body.char_rate.value, body.char_activation.value


def rate(record, temperature):
    """[1/s], for the ramps and profiles that are not a passage."""
    front, activation = law(record)
    return front * np.exp(-activation / temperature)


def lost(check):
    front, activation = law(check["record"])
    hold = cf.Dose(reaction=cf.Reaction(rate=front, activation=activation), times=[0.0, check["duration"]], shares=[1.0, 1.0], start=293.15,
                   greatest=1000)
    return DATA["share"][check["record"]] * float(cf.bleached(hold.of(check["temperature"] - 293.15)))


def free_energy(check):
    """E + RT ln(k_B T/(h A)) [kJ/mol]."""
    (front, activation), t = law(check["record"]), check["temperature"]
    return 1e-3 * GAS * (activation + t * math.log(1.380649e-23 * t / (6.62607015e-34 * front)))


def onset(check, heating=10 / 60):
    """Temperature [K] at which 1 % has gone on a ramp."""
    gone, t = 0.0, 400.0
    while gone < 0.01:
        gone, t = gone + float(rate(check["record"], t)) * 0.1 / heating, t + 0.1
    return t


def ramp_temperature(check):
    """Explicit finite volumes, 20 mm of wood, 0.1 mm cells; returns the surface temperature [K] when CRITICAL is passed."""
    cells, width, step = 200, 1e-4, 0.02
    t, left = np.full(cells, 293.0), np.ones(cells)
    while True:
        flow = WOOD["conductivity"] * np.diff(t) / width
        into = np.concatenate(([0.9 * check["flux"] - LOSS * (t[0] - 293.0)], -flow))
        t = t + step * (into - np.concatenate((-flow, [0.0]))) / (WOOD["density"] * WOOD["heat_capacity"] * width)
        going = rate(check["record"], t) * left
        left = np.maximum(0.0, left - step * going)
        if DATA["share"]["birch"] * WOOD["density"] * width * going.sum() > CRITICAL or t[0] > 1200:
            return float(t[0])


def judged():
    for check in DATA["check"]:
        ours = globals()[check["kind"]](check)
        least, most = check["published"]
        yield check["quantity"], f"{least:g}" if least == most else f"{least:g} to {most:g}", ours, (
            1.0 if least <= ours <= most else ours / (least if ours < least else most))


def results():
    return {quantity: (published, ours, factor if "cork" in quantity else factor - 1) for quantity, published, ours, factor in judged()}


def plot(path):
    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    figure, axis = plt.subplots(figsize=(6, 4))
    t = np.linspace(450, 1300, 200)
    for record in DATA["share"]:
        axis.semilogy(t, math.log(2) / rate(record, t), label=record)
    axis.axhline(1e-3, color="k", lw=0.6)
    for check in DATA["check"]:
        if check["kind"] == "lost":  # what the published loss means for the half-life
            gone = -math.log(1 - check["published"][0] / DATA["share"][check["record"]])
            axis.plot(check["temperature"], math.log(2) / gone * check["duration"], "ko", label="cork, published" if check["temperature"] > 600 else None)
    axis.set(xlabel="held at [K]", ylabel="half gone after [s]", ylim=(1e-5, 1e5))
    axis.legend()
    figure.tight_layout()
    figure.savefig(path, dpi=90)


def main():
    print("| quantity | published | ours | difference from the nearer end |\n| --- | --- | --- | --- |")
    for quantity, published, ours, factor in judged():
        print(f"| {quantity} | {published} | {ours:.4g} | {'inside' if factor == 1 else f'{factor - 1:+.0%}'} |")
    if "--plot" in sys.argv:
        plot(sys.argv[sys.argv.index("--plot") + 1])


if __name__ == "__main__":
    main()
