"""The wall as lines are burnt. Truths: closed forms of a thin ring and of a lumped wall, energy, the Stefan-Boltzmann law."""
import math

import numpy as np
import pytest

import circumfluence as cf

# So thin that heat is even through it at once, with the areal capacity and sheet conductance of 0.5 mm of steel.
RING = dict(thickness=0.5e-6, conductivity=16.2e3, capacity=7900 * 500e3, circumference=math.pi * 73e-3, length="1 mm", around=64,
            axial=8, beam="1 um", duration=1e-6)


def raster(count, last):
    """Lines of 120 J/m every 1.2 s, and one without light."""
    energies = np.full((count + 1, 8), 120.0)
    energies[-1] = 0
    steps = np.arange(count + 1)
    out = cf.warm_wall(energies=energies, across=steps * 0.1e-3, start=steps * 1.2, **RING)
    assert out.rises[-1] == pytest.approx(last, rel=2e-5)
    return out


def test_raster_on_a_ring():
    raster(10, 38.70463)
    out = raster(100, 141.02954)
    assert out.rises.shape == (101, 8) and out.field.shape == (64, 8) and out.rises.dtype == np.float32
    assert out.deposited == pytest.approx(120 * 1e-3 * 100, rel=1e-6) and out.lost == 0
    assert out.greatest == out.rises.max() and out.end == pytest.approx(120, rel=1e-6)
    stored = out.mean * 7900 * 500 * 0.5e-3 * math.pi * 73e-3 * 1e-3
    assert stored == pytest.approx(out.deposited, rel=1e-6)
    assert repr(out).startswith("<WallWarming 101 lines, warmest 1")


def test_lumped_wall_with_loss():
    # P/(H A) (1 - e^(-t/tau)): 5 W over 60 x 60 mm of steel, H = 15, in lines of one second.
    for seconds, rise in ((60, 33.8883), (600, 91.6209)):
        steps = np.arange(seconds)
        out = cf.warm_wall(energies=np.full((seconds, 10), 5 * 1.0 / 60e-3), across=steps * 60e-3 / seconds, start=steps, duration=1,
                           thickness="0.5 mm", conductivity=16.2, capacity=7900 * 500, outside=10, inside="5 W/(m^2 K)",
                           circumference="60 mm", length="60 mm", around=16, axial=10, beam="1 mm")
        assert out.after_job == pytest.approx(rise, rel=2e-4)
        assert out.lost + out.mean * 7900 * 500 * 0.5e-3 * 36e-4 == pytest.approx(out.deposited, rel=1e-6)


def test_water_takes_the_heat():
    line = dict(energies=np.full((1, 8), 100.0), across=0.01, start=0, wait="1 h", **{**RING, "thickness": "0.5 mm"})
    wet = cf.warm_wall(water_transfer=400, water_capacity="10 J/K", **line)
    areal = 7900 * 500e3 * 0.5e-3 * math.pi * 73e-3 * 1e-3
    assert wet.water == pytest.approx(wet.mean, rel=1e-3)
    assert wet.water * 10 + wet.mean * areal == pytest.approx(wet.deposited, rel=1e-4)


def test_views_keep_their_owner_and_cannot_be_written():
    rises = raster(10, 38.70463).rises
    with pytest.raises(ValueError):
        rises[0, 0] = 1
    assert rises[-1, 3] == pytest.approx(38.70463, rel=2e-5)


@pytest.mark.parametrize("change, error, words", [
    (dict(start=[0, 0]), cf.ValidityError, "line 2 starts"),
    (dict(across=[0, 1, 2]), ValueError, "across: 3 values"),
    (dict(energies=[1.0, 2.0]), ValueError, r"\[line\]\[cell\]"),
    (dict(energies=[[1.0], [-2.0]]), cf.ValidityError, "line 2: energy"),
    (dict(first=8), cf.ValidityError, "cells"),
    (dict(conductivity="1 W"), cf.JobError, "thermal conductivity"),
    (dict(water_transfer=1), TypeError, "water_capacity"),
    (dict(direction="up"), ValueError, '"axial" or "around"'),
    (dict(colour=1), TypeError, "colour")])
def test_what_is_refused(change, error, words):
    with pytest.raises(error, match=words):
        cf.warm_wall(**{**dict(energies=[[1.0], [2.0]], across=0, start=[0, 1], **RING), **change})


def test_air_transfer_is_convection_and_radiation():
    assert cf.air_transfer(convection=5, emissivity="90 %", temperature="20 degC") == pytest.approx(
        5 + 4 * 0.9 * 5.670374e-8 * 293.15**3, rel=1e-6)
