"""Oxide, bleaching, char. Truths: pulses and holds worked out by another program (quadrature and differential equation agree)."""
import math

import numpy as np
import pytest

import circumfluence as cf

GAS = 8.314462618
PMMA = cf.Reaction(rate="8.5e12 1/s", activation=188e3 / GAS)
BIRCH = cf.Reaction(rate=4.4e9, activation="16980 K")


def pulse(tau):
    t = np.linspace(-3 * tau, 3 * tau, 81)
    return dict(times=t, shares=np.exp(-(t / tau) ** 2), start=293)


def test_gaussian_pulses():
    dose = cf.Dose(reaction=PMMA, greatest=2000, **pulse(1e-3))
    assert cf.bleached(dose.of([600, 650])) == pytest.approx([0.035902, 0.132285], rel=5e-3)
    growth = cf.Reaction(rate="1e-6 m^2/s", activation=200e3 / GAS)
    for top, tau, nm in ((1200, 1e-3, 0.94151), (1500, 1e-3, 7.25807), (1600, 1e-4, 3.83280)):
        dose = cf.Dose(reaction=growth, greatest="2000 K", **pulse(tau))
        assert 1e9 * cf.oxide(native=0, dose=dose.of(top - 293)) == pytest.approx(nm, rel=3e-3)


def test_doses_add_up_to_the_root_of_the_passes():
    assert cf.oxide(native="3 nm", dose=np.array([0, 16e-18])) == pytest.approx([3e-9, 5e-9])
    assert cf.oxide(native=0, dose=4 * 1e-18) == pytest.approx(2e-9)


def test_holds():
    half = cf.Reaction(rate=8.5e12 / math.log(2), activation=188e3 / GAS)
    assert cf.temperature_of(half, dwell="1 ms") == pytest.approx(973.37, abs=0.01)
    with pytest.raises(cf.ValidityError):
        cf.temperature_of(cf.Reaction(rate=10, activation=1e4), dwell=0.05)


def test_conductivity_that_rises_cools_and_a_warm_wall_adds():
    level, rising = (cf.Dose(reaction=PMMA, greatest=2000, conductivity=12.86, conductivity_slope=s, **pulse(1e-3)) for s in (0, 0.016))
    assert rising.of(900.0) < level.of(900.0)
    assert level.of(700.0, 100.0) > level.of(700.0) and level.of(-5.0) == 0
    assert level.of([[600], [700]], [0, 50, 100]).shape == (2, 3)


def test_melting_reaches_where_the_profile_says():
    y, rises = cf.LayeredSpot(layers=[(math.inf, 16.2, 7900 * 500)], along=4e-5, across=4e-5, speed=0.1).profile()
    reach = cf.MeltReach(distances=y, shares=rises / rises[0])
    at = reach.of([0.5, 1.0, 2.0, 3.0])
    assert np.all(at[:2] == 0) and np.interp(at[2:], y, rises / rises[0]) == pytest.approx([1 / 2, 1 / 3], rel=3e-3)


def test_char_under_the_surface_is_deepest_at_the_threshold():
    depth = cf.CharDepth(reaction=BIRCH, start=293, surface=1085, dwell="10 ms", diffusivity=1.5e-7, sensible=0.4)
    deep = depth.of([0.05, 1.2, 2])
    assert deep[0] == 0 and deep[1] > deep[2] > 0
    assert deep[1] < 3 * math.sqrt(1.5e-7 * 10e-3)


@pytest.mark.parametrize("make, error, words", [
    (lambda: cf.Reaction(rate="1 m", activation=1), cf.JobError, "frequency"),
    (lambda: cf.Dose(reaction=PMMA, times=[0, 1], shares=[0], start=293, greatest=1), cf.ValidityError, ""),
    (lambda: cf.Dose(reaction=PMMA, times=[0, 1], shares=[0, 1], greatest=1), TypeError, "'start'"),
    (lambda: cf.MeltReach(distances=[0, 1], shares=[0.5, 1]), cf.ValidityError, ""),
    (lambda: cf.CharDepth(reaction=BIRCH, start=293, surface=200, dwell=1, diffusivity=1, sensible=1), cf.ValidityError, "")])
def test_what_is_refused(make, error, words):
    with pytest.raises(error, match=words):
        make()
    assert "16980 K" in repr(BIRCH)
