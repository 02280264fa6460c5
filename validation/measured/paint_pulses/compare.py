#!/usr/bin/env python3
"""Paint removed per joule by nanosecond pulses against the removal energy of the library's powder-coat record.

Ours is 1/removal_energy, absorbed energy, whatever the pulse: the library takes coats off by heat only. Where pulses pass
through the coat and lift it from the metal, it must come out far too low; those rows show how far.

    compare.py [--plot FILE]
"""

import pathlib
import sys
import tomllib

import circumfluence as cf

DATA = tomllib.loads((pathlib.Path(__file__).resolve().parent / "data.toml").read_text())
COAT = cf.material("polyester_powder_black")


def pet():
    """[mm^3/J] from the thermochemistry of a polyester alone."""
    body = DATA["pet"]
    return 1e9 / (body["density"] * (body["heat_capacity"] * body["rise"] + body["latent"]))


def results():
    ours = 1e9 / COAT.removal_energy.value
    found = {f"{check['quantity']} [mm^3/J]": (check["published"], ours, ours / check["published"]) for check in DATA["check"]}
    best = DATA["check"][0]["published"]
    return found | {"the best efficiency against the enthalpy of PET, which no record uses [mm^3/J]": (best, pet(), pet() / best)}


def plot(path):
    ours = 1e9 / COAT.removal_energy.value

    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    figure, axis = plt.subplots(figsize=(7, 3))
    axis.barh([c["source"] for c in DATA["check"]], [c["published"] for c in DATA["check"]], log=True)
    axis.axvline(ours, color="k")
    axis.set(xlabel="removed [mm^3/J]; line: ours")
    figure.tight_layout()
    figure.savefig(path, dpi=80)


def main():
    ours = 1e9 / COAT.removal_energy.value
    print("| quantity | mechanism | published [mm3/J] | ours [mm3/J] | ours/published |\n| --- | --- | --- | --- | --- |")
    for check in DATA["check"]:
        print(f"| {check['quantity']} | {check['mechanism']} | {check['published']} | {ours:.3f} | {ours / check['published']:.2f} |")
    if "--plot" in sys.argv:
        plot(sys.argv[sys.argv.index("--plot") + 1])


if __name__ == "__main__":
    main()
