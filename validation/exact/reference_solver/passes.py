"""One passage of the beam, by the fast laws that predictions use and by the reference solver, for compare.py.

The fast laws are written with the library's own parts (LayeredSpot, threshold, true_rise); docs/theory/response.md has them.
"""

import functools
import math

import circumfluence as cf
import numpy as np

START = 293.15  # [K]
RADIUS = 40e-6  # [m]
METALS = {"aluminium": dict(conductivity=167.0, capacity=2700 * 896.0, absorptivity=0.2),
          "steel": dict(conductivity=16.2, capacity=7900 * 500.0, absorptivity=0.4)}
POLYMER = dict(conductivity=0.25, capacity=1400 * 1500.0)
REMOVED_AT, REMOVAL_HEAT = START + 600, 1.4e9  # [K], [J/m^3]
ENERGY = POLYMER["capacity"] * (REMOVED_AT - START) + REMOVAL_HEAT  # [J/m^3]


def metal(name, cell=5e-6, **more):
    return {**METALS[name], "thickness": 1.5e-3, "cell": cell, "growth": 1.3, **more}


def film(thickness, cell, absorptivity=0.9, goes=True):
    gone = dict(removal_temperature=REMOVED_AT, removal_heat=REMOVAL_HEAT) if goes else {}
    return {**POLYMER, **gone, "absorptivity": absorptivity, "thickness": thickness, "cell": cell}


@functools.cache
def _coat():
    """The film as a material record, for the library's threshold."""
    return cf.parse_materials(f"""
[material.film]
title = "film"
kind = "coat"
density = {{ value = "1400 kg/m^3", source = "this table" }}
heat_capacity = {{ value = "1500 J/(kg K)", source = "this table" }}
conductivity = {{ value = "0.25 W/(m K)", source = "this table" }}
removal_temperature = {{ value = "{REMOVED_AT} K", source = "this table" }}
""")[0]


def threshold(speed):
    """[J/m^2] absorbed, by the film law."""
    return cf.threshold(_coat(), start=START, dwell=RADIUS / speed)


def fluence(power, speed, y=0.0):
    """[J/m^2] that one line brings at a distance y."""
    return math.sqrt(2 / math.pi) * power / (RADIUS * speed) * math.exp(-2 * (y / RADIUS) ** 2)


def spot(stack, speed, z=0.0):
    layers = [(layer["thickness"], layer["conductivity"], layer["capacity"]) for layer in stack[:-1]]
    base = stack[-1]
    return cf.LayeredSpot(layers=[*layers, (math.inf, base["conductivity"], base["capacity"])], along=RADIUS, across=RADIUS, speed=speed, z=z)


def solve(stack, power, speed, cell=8e-6, before=8, after=3.0, width=1.5):
    """The reference solver: a passage over ten cells, from `before` radii ahead of them to `after` radii beyond their middle, and
    then the time that heat takes through the films."""
    length = 10 * cell
    soak = sum(layer["thickness"] ** 2 * layer["capacity"] / layer["conductivity"] for layer in stack[:-1])
    run = dict(along=RADIUS, across=RADIUS, speed=speed, power=power, begin_at=-before * RADIUS, start=START, after=soak,
               duration=((before + after) * RADIUS + length / 2) / speed)
    patch = dict(length=length, half_width=width * RADIUS, margin=max(1e-3, 1.5 * before * RADIUS), cell_along=cell, cell_across=cell,
                 growth=1.4)
    return cf.solve_enthalpy(layers=stack, patch=patch, run=run, steps=dict(travel=0.1, threads=1))


def middle(found):
    """Column of cells in the middle of the patch."""
    return int(np.argmin(abs(found.x - (found.x[0] + found.x[-1]) / 2)))
