"""What is compared, heat: layers, plates, walls and the reference solver. Each function computes one quantity in its table's unit."""

import functools
import math

import circumfluence as cf
import numpy as np

POLYMER = (0.25, 1400 * 1500.0)  # conductivity [W/(m K)], capacity [J/(m^3 K)]
BODIES = {"aluminium": (167.0, 2700 * 896.0), "stainless steel": (16.2, 7900 * 500.0), "polymer": POLYMER, "cardboard": (0.10, 520 * 1800.0)}
START = 293.0  # [K]


def coat_peak(base, z, depth=0.0, power=5.0, thickness=30e-6, along=40e-6, across=40e-6, speed=41.667e-3):
    layers = [(thickness, *POLYMER), (math.inf, *BODIES[base])]
    return power * cf.LayeredSpot(layers=layers, along=along, across=across, speed=speed, z=z, depth=depth).peak()[0]


def plate_peak(body, wall, along=40e-6, across=40e-6, speed=41.667e-3):
    return cf.LayeredSpot(layers=[(wall, *BODIES[body])], along=along, across=across, speed=speed).peak()[0]


def volume_rise(body, depth, radius):
    return float(cf.LayeredSpot(layers=[(math.inf, *BODIES[body])], along=radius, across=radius, speed=0, depth=depth).rise(0, 0))


def point_rise(body, power, x, y=0.0, z=0.0, speed=41.667e-3):
    """Far from a spot so small that it is a point."""
    conductivity, capacity = BODIES[body]
    return power * float(cf.rise(conductivity=conductivity, diffusivity=conductivity / capacity, along=5e-7, across=5e-7, speed=speed, x=x, y=y, z=z))


def plate_rise(body, power, x, wall, y=0.0, loss=0.0, speed=41.667e-3):
    """Far from a spot that is small beside the wake there; `loss` of both faces, put on the back."""
    back = dict(back="ambient", back_transfer=loss) if loss else {}
    radius = 0.05 * math.sqrt(8 * BODIES[body][0] / BODIES[body][1] * abs(x) / speed)
    return power * float(cf.LayeredSpot(layers=[(wall, *BODIES[body])], along=radius, across=radius, speed=speed, **back).rise(x, y))


# A shell so thin that heat is even through it at once: what a theory of thin rings speaks of.
def _ring(body, wall, diameter, energies, **lines):
    conductivity, capacity = BODIES[body]
    return cf.warm_wall(energies=energies, thickness=wall / 1000, conductivity=1000 * conductivity, capacity=1000 * capacity,
                        circumference=math.pi * diameter, length=1e-3, around=64, axial=8, beam=1e-6, duration=1e-6, **lines)


def ring_after(body, wall, diameter, time, opposite=False):
    """Rise some time after one line of 120 J/m, on the line or opposite to it."""
    energies = np.array([[120.0] * 8, [0.0] * 8])
    away = math.pi * diameter / 2 if opposite else 0.0
    return float(_ring(body, wall, diameter, energies, across=[0.01, 0.01 + away], start=[0.0, time]).rises[1, 3])


def ring_raster(body, wall, diameter, lines):
    """Rise at the next line just before it is written: a line of 120 J/m every 1.2 s, 0.1 mm apart."""
    energies = np.full((lines + 1, 8), 120.0)
    energies[-1] = 0
    steps = np.arange(lines + 1)
    return float(_ring(body, wall, diameter, energies, across=steps * 0.1e-3, start=steps * 1.2).rises[-1, 4])


def thick_raster(body, lines):
    """The same on a body as good as endless."""
    energies = np.full((lines + 1, 8), 120.0)
    energies[-1] = 0
    steps = np.arange(lines + 1)
    conductivity, capacity = BODIES[body]
    return float(cf.warm_wall(energies=energies, across=steps * 0.1e-3, start=steps * 1.2, duration=1e-6, thickness=0.25,
                              conductivity=conductivity, capacity=capacity, circumference=1.0, length=1e-3, around=64, axial=8,
                              beam=1e-6).rises[-1, 4])


def lumped_wall(body, wall, area, power, time, loss):
    """Mean rise after lines of one second each, all over the wall."""
    count, side = int(time), math.sqrt(area)
    conductivity, capacity = BODIES[body]
    steps = np.arange(count)
    return cf.warm_wall(energies=np.full((count, 10), power / side), across=0.37 * side * steps % side, start=steps, duration=1.0,
                        thickness=wall, conductivity=conductivity, capacity=capacity, outside=loss, circumference=side, length=side,
                        around=10, axial=10, beam=50e-6).after_job


# One column of cells under an even flux.
def _column(layers, flux, duration, **run):
    wide = 10e-3
    return cf.solve_enthalpy(
        layers=layers, patch=dict(length=50e-6, half_width=50e-6, margin=0, cell_along=50e-6, cell_across=100e-6, sides="insulated", back="insulated"),
        run=dict(along=wide, across=wide, speed=0, power=flux * math.pi * wide**2 / 2, begin_at=25e-6, duration=duration, start=START, **run))


@functools.cache
def _slab(body, flux, duration, thickness, cell, depth=0.0):
    conductivity, capacity = BODIES[body]
    layer = dict(thickness=thickness, conductivity=conductivity, capacity=capacity, absorptivity=1, cell=cell, growth=1.02, optical_depth=depth)
    return _column([layer], flux, duration)


def slab_rise(body, flux, duration, z, thickness=1e-3, cell=2e-6, depth=0.0):
    """Rise at a depth under constant flux; the hottest moment is the last."""
    found = _slab(body, flux, duration, thickness, cell, depth)
    surface = found.peak[0, 0] if depth == 0 else 1.5 * found.peak_below[0] - 0.5 * found.peak_below[1]
    return float(np.interp(z, [0, *found.z], [surface, *found.peak_below])) - START


def melting_depth(latent, wall_rise=1000.0, melts=1700.0, duration=1e-3):
    """Neumann's problem: steel whose surface is put `wall_rise` above the melting point, by the flux that does so [um]."""
    conductivity, capacity = BODIES["stainless steel"]
    diffusivity, stefan, cold = conductivity / capacity, capacity * wall_rise / latent, (melts - START) / wall_rise
    low, high = 1e-6, 3.0
    for _ in range(100):
        x = (low + high) / 2
        above = math.exp(-x * x) / math.erf(x) - cold * math.exp(-x * x) / math.erfc(x) > x * math.sqrt(math.pi) / stefan
        low, high = (x, high) if above else (low, x)
    pieces, wide = 4000, 10e-3
    flux = conductivity * wall_rise / (math.erf(low) * math.sqrt(math.pi * diffusivity))
    ends = np.linspace(0, duration, pieces + 1)
    power = flux * 2 * np.diff(np.sqrt(ends)) / (duration / pieces) * math.pi * wide**2 / 2
    layer = dict(thickness=1e-3, conductivity=conductivity, capacity=capacity, absorptivity=1, cell=1e-6, growth=1.01, solidus=melts, liquidus=melts, latent=latent)
    found = cf.solve_enthalpy(
        layers=[layer], patch=dict(length=50e-6, half_width=50e-6, margin=0, cell_along=50e-6, cell_across=100e-6, sides="insulated", back="insulated"),
        run=dict(along=wide, across=wide, speed=0, power=list(power), begin_at=25e-6, duration=duration, start=START), steps=dict(least=4000))
    return 1e6 * found.melted_depth


@functools.cache
def _dwell(base, power, duration, film, cell):
    stack = [dict(thickness=1.5e-3, conductivity=BODIES[base][0], capacity=BODIES[base][1], absorptivity=1, cell=cell, growth=1.25)]
    if film:
        stack.insert(0, dict(thickness=film, conductivity=POLYMER[0], capacity=POLYMER[1], absorptivity=1, cell=1e-6))
    patch = dict(length=96e-6, half_width=48e-6, margin=1.5e-3, cell_along=4e-6, cell_across=4e-6, growth=1.3)
    return cf.solve_enthalpy(layers=stack, patch=patch,
                             run=dict(along=40e-6, across=40e-6, speed=0, power=power, begin_at=48e-6, duration=duration, start=START))


def dwell_rise(base, duration, z=0.0, film=0.0, cell=2e-6):
    """Under the middle of a spot at rest, 1 W, 40 um, by the reference solver."""
    found = _dwell(base, 1.0, duration, film, cell)
    middle = found.x.size // 2
    surface = (found.peak[0, middle] + found.peak[0, middle - 1]) / 2
    if z == film:
        return float(surface) - START
    if z == 0:  # the film's own surface: its top cell, and half a cell up the flux
        return float(1.5 * found.peak_below[0] - 0.5 * found.peak_below[1]) - START
    return float(np.interp(z, found.z, found.peak_below)) - START
