#!/usr/bin/env python3
"""The fast laws of a prediction against the reference solver, case by case: where they are right within 5 %.

    compare.py [--plot FILE]
"""

import functools
import math
import sys
from concurrent.futures import ThreadPoolExecutor

import circumfluence as cf
import numpy as np
import passes
from passes import METALS, POLYMER, RADIUS, START

SPEEDS = (0.01, 0.041667, 0.3)  # [m/s]
SOLIDUS, LIQUIDUS, LATENT = 1673.0, 1727.0, 2.13e9  # [K], [K], [J/m^3]
SLOPE = 0.01618  # [W/(m K^2)] k(T) of stainless steel


def named(speed):
    return f"{1e3 * speed:.4g} mm/s"


def layers():
    """Peak where coat and metal meet [K/W], nothing removed: exact conduction in layers."""
    for name in METALS:
        for thickness, speed in ((30e-6, 0.01), (10e-6, 0.041667), (30e-6, 0.041667), (60e-6, 0.041667), (30e-6, 0.3)):
            slow = name == "aluminium" and thickness / speed < 0.1  # heat of much of the track comes together in aluminium
            stack = [passes.film(thickness, thickness / 12, goes=False), passes.metal(name, 6e-6)]
            before = 8 if not slow else 60 if thickness > 4e-5 or speed > 0.1 else 30
            found = passes.solve(stack, 1.0, speed, cell=10e-6, before=before, after=before / 2)
            yield (f"layers: {1e6 * thickness:.0f} um on {name}, {named(speed)}", found.peak[0, passes.middle(found)] - START,
                   0.9 * passes.spot(stack, speed, thickness).peak()[0])


def thresholds():
    """Absorbed fluence [J/cm^2] that takes the surface of a thick film to the removal temperature."""
    for speed in (*SPEEDS[:2], 0.1, 0.3, 1.0):
        peak = passes.spot([passes.film(1.0, 1.0)], speed).peak()[0]
        yield f"threshold: {named(speed)}", 1e-4 * 600 / peak * passes.fluence(1.0, speed), 1e-4 * passes.threshold(speed)


def exact_threshold(speed):
    return 600 / passes.spot([passes.film(1.0, 1.0)], speed).peak()[0] * passes.fluence(1.0, speed)


def depth_laws(strength, speed):
    """Removed on the track [m], by the film law and with the exact threshold in its place; power [W]."""
    absorbed = strength * passes.threshold(speed)
    return ((absorbed - passes.threshold(speed)) / passes.ENERGY, max(0.0, absorbed - exact_threshold(speed)) / passes.ENERGY,
            absorbed / 0.9 / passes.fluence(1.0, speed))


@functools.cache
def removed_depths():
    """Film removed on the track [um] from a thick film: strength, speed, reference, both laws."""
    out = []
    for speed in SPEEDS:
        for strength in (3.0, 5.0, 20.0, 60.0):
            law, better, power = depth_laws(strength, speed)
            heat = math.sqrt(POLYMER["conductivity"] / POLYMER["capacity"] * RADIUS / speed)
            thickness = 1.05 * law + 4 * heat
            cell = max(0.25e-6, min(law / 16, thickness / 30), thickness / 80)
            stack = [passes.film(thickness, cell), passes.metal("steel", 20e-6)]
            found = passes.solve(stack, power, speed, cell=8e-6, after=3.0)
            out.append((strength, speed, 1e6 * found.removed[0, passes.middle(found)], 1e6 * law, 1e6 * better))
    return out


def depths():
    for strength, speed, reference, law, _ in removed_depths():
        yield f"removed depth: {strength:g} times the threshold, {named(speed)}", reference, law


def bases():
    """Peak rise of the base [K] after its film has gone, against the share of the light that is left for it."""
    for name in METALS:
        for thickness, speed in ((10e-6, 0.041667), (30e-6, 0.041667), (30e-6, 0.3)):
            need = passes.threshold(speed) + thickness * passes.ENERGY
            for excess in (1.5, 3.0, 10.0, 30.0):
                power = excess * need / 0.9 / passes.fluence(1.0, speed)
                stack = [passes.film(thickness, 2e-6), passes.metal(name)]
                found = passes.solve(stack, power, speed, after=4.0, before=8 if name == "steel" else 15)
                full = power * METALS[name]["absorptivity"] * passes.spot([passes.metal(name)], speed).peak()[0]
                yield (f"base under a film that goes: {excess:g} times what removes {1e6 * thickness:.0f} um on {name}, {named(speed)}",
                       found.peak[0, passes.middle(found)] - START, (1 - 1 / excess) * full)


def conductivities():
    """Peak rise of bare steel [K] whose conductivity grows: Kirchhoff's transform of the linear rise."""
    for speed in (*SPEEDS[1:], 1.0):
        for linear in (500.0, 1200.0):
            stack = [passes.metal("steel", 3e-6, conductivity=12.86, conductivity_slope=SLOPE)]
            power = linear / 0.4 / passes.spot(stack, speed).peak()[0]
            found = passes.solve(stack, power, speed, cell=5e-6, before=10)
            yield (f"k(T): steel, linear rise {linear:.0f} K, {named(speed)}", found.peak[0, passes.middle(found)] - START,
                   float(cf.true_rise(at_start=12.86, slope=SLOPE, linear=linear)))


def isotherm(found):
    """Depth [m] to which the solidus reached."""
    return float(np.interp(-SOLIDUS, -found.peak_below, found.z)) if found.peak_below[0] > SOLIDUS else 0.0


def linear_isotherm(stack, speed, power):
    low, high = 0.0, 4e-4
    for _ in range(30):
        z = (low + high) / 2
        low, high = (z, high) if 0.4 * power * passes.spot(stack, speed, z).peak()[0] > SOLIDUS - START else (low, z)
    return low


def melting():
    """Depth [um] of the solidus under the track on bare steel, with the heat of melting and without it."""
    for latent, kind in ((0.0, "melted depth, no latent heat"), (LATENT, "melted depth")):
        for speed in (*SPEEDS[1:], 1.0):
            for over in (1.2, 1.5, 2.5) if latent else (1.5,):
                stack = [passes.metal("steel", 1e-6, growth=1.12, solidus=SOLIDUS, liquidus=LIQUIDUS, latent=latent)]
                power = over * (SOLIDUS - START) / 0.4 / passes.spot(stack, speed).peak()[0]
                found = passes.solve(stack, power, speed, cell=6e-6, before=10)
                yield (f"{kind}: peak {over:g} times the rise to melting, {named(speed)}", 1e6 * isotherm(found),
                       1e6 * linear_isotherm(stack, speed, power))


@functools.cache
def cases():
    with ThreadPoolExecutor(2) as pool:  # the solver lets other threads run
        done = pool.map(lambda group: list(group()), (layers, thresholds, depths, bases, conductivities, melting))
        return [row for rows in done for row in rows]


def results():
    return {name: (reference, law, law / reference - 1 if reference > 0 else math.inf) for name, reference, law in cases()}


def plot(path):
    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    figure, axes = plt.subplots(1, 3, figsize=(12, 3.8))
    for speed in SPEEDS:
        rows = [row for row in removed_depths() if row[1] == speed]
        line, = axes[0].semilogx([r[0] for r in rows], [r[3] / r[2] if r[2] else math.nan for r in rows], "o-", label=named(speed))
        axes[0].semilogx([r[0] for r in rows], [r[4] / r[2] if r[2] else math.nan for r in rows], "x:", color=line.get_color())
    axes[0].set(xlabel="absorbed fluence / threshold", title="removed depth (dotted: exact threshold)")
    groups = {}
    for name, reference, law in cases():
        groups.setdefault(name.split(":")[0], []).append((name, law / reference if reference > 0 else math.nan))
    for name, ratio in groups["base under a film that goes"]:
        axes[1].semilogx(float(name.split(": ")[1].split()[0]), ratio, "C0o" if "aluminium" in name else "C3s")
    axes[1].set(xlabel="light / what removes the film", title="base under it (circles: aluminium)")
    for kind, mark in (("melted depth, no latent heat", "C0o"), ("melted depth", "C3s")):
        for name, ratio in groups[kind]:
            axes[2].plot(float(name.split("peak ")[1].split()[0]), ratio, mark)
    axes[2].set(xlabel="linear peak / rise to melting", title="melted depth (circles: no latent heat)")
    for axis in axes:
        axis.axhspan(0.95, 1.05, color="0.85")
        axis.set(ylabel="fast law / reference", ylim=(0, 2.2))
    axes[0].legend()
    figure.tight_layout()
    figure.savefig(path, dpi=70)


def main():
    print("| case | reference | fast law | difference |\n| --- | --- | --- | --- |")
    for name, (reference, law, off) in results().items():
        print(f"| {name} | {reference:.4g} | {law:.4g} | {off:+.1%} |")
    if "--plot" in sys.argv:
        plot(sys.argv[sys.argv.index("--plot") + 1])


if __name__ == "__main__":
    main()
