"""Truth: the fluence of a Gaussian line and ISO 11146-1's caustic in closed form; NumPy's own least squares."""
import math

import numpy as np
import pytest

import circumfluence as cf
from circumfluence import calibration

ENERGIES = np.geomspace(5, 120, 9)  # J/m
RADIUS, BEGINS = 40e-6, 3.0         # m, J/m
WIDTHS = RADIUS * np.sqrt(2 * np.log(ENERGIES / BEGINS))


def test_a_ladder_of_lines_gives_spot_and_threshold():
    fit = calibration.squared_width(ENERGIES, WIDTHS)
    assert fit.radius.value == pytest.approx(RADIUS, rel=1e-9) and fit.threshold_energy.value == pytest.approx(BEGINS, rel=1e-9)
    assert fit.threshold.value == pytest.approx(math.sqrt(2 / math.pi) * BEGINS / RADIUS, rel=1e-9)
    assert fit.width(ENERGIES) == pytest.approx(WIDTHS) and fit.width("1 J/m") == 0
    assert fit.exposed == "lines" and fit.scatter < 1e-9 and fit.notes == []
    assert "give or take" in str(fit) and "40 um" in repr(fit) and isinstance(fit.radius, cf.Measure)


def test_units_and_pulses():
    text = calibration.squared_width(["20 uJ", "50 uJ", "200 uJ"], ["19.5609 um", "39.0895 um", "57.1039 um"], exposed="pulses")
    assert text.radius.value == pytest.approx(25e-6, rel=1e-5) and text.threshold.value == pytest.approx(1.5e4, rel=1e-5)
    with pytest.raises(cf.JobError, match="energy"):
        calibration.squared_width(["20 uJ", "50 uJ", "200 uJ"], [1e-5, 2e-5, 3e-5])


def test_errors_are_those_of_weighted_least_squares():
    rng = np.random.default_rng(3)
    noisy = WIDTHS * np.exp(0.08 * rng.standard_normal(len(WIDTHS)))
    fit = calibration.squared_width(ENERGIES, noisy, error="1 %")
    # The weights are those of the curve found; with them, plain weighted least squares must give the same line and errors.
    x, y = np.log(ENERGIES), noisy**2
    design = np.column_stack([np.ones_like(x), x])
    weights = 1 / (2 * fit.width(ENERGIES)**2)
    slope = 2 * fit.radius.value**2
    line, *_ = np.linalg.lstsq(weights[:, None] * design, weights * y, rcond=None)
    assert line[1] == pytest.approx(slope, rel=1e-9)
    left = weights * (y - design @ line)
    scatter = math.sqrt(left @ left / (len(x) - 2))
    assert fit.scatter == pytest.approx(scatter, rel=1e-9)
    covariance = scatter**2 * np.linalg.inv(design.T @ (weights[:, None]**2 * design))
    assert fit.radius.spread / fit.radius.value == pytest.approx(math.sqrt(covariance[1, 1]) / slope / 2, rel=1e-6)
    gradient = np.array([-1 / slope, line[0] / slope**2 - 1 / (2 * slope)])  # of ln F_th by intercept and slope
    expected = math.sqrt(gradient @ covariance @ gradient)
    assert fit.threshold.spread / fit.threshold.value == pytest.approx(expected, rel=1e-6)
    assert any("scatter" in note for note in fit.notes)


def test_a_caustic_comes_back():
    waist, height, m2, wavelength = 30e-6, -0.4e-3, 3.0, 450e-9
    rayleigh = math.pi * waist**2 / (m2 * wavelength)
    heights = height + rayleigh * np.array([-4, -3, -2.2, -0.9, -0.5, 0, 0.4, 0.8, 2.5, 3.5])
    radii = waist * np.hypot(1, (heights - height) / rayleigh)
    fit = calibration.caustic_fit(heights, radii, wavelength="450 nm")
    for found, true in ((fit.waist, waist), (fit.waist_height, height), (fit.m2, m2), (fit.rayleigh, rayleigh)):
        assert found.value == pytest.approx(true, rel=1e-9) and found.spread > 0
    assert fit.radius_at(heights) == pytest.approx(radii) and fit.notes == []
    assert any("ISO 11146-1" in note for note in calibration.caustic_fit(heights[:7], radii[:7], wavelength=450e-9).notes)


@pytest.mark.parametrize("energy, width, why", [
    ([1, 2], [1e-5, 2e-5], "2 widths"), ([1, 1, 1], [1e-5, 2e-5, 3e-5], "all alike"),
    ([1, 2, 3], [3e-5, 2e-5, 1e-5], "do not grow"), ([1, 2, math.nan], [1e-5, 2e-5, 3e-5], "finite"),
    ([1, 2, 3], [1e-5, 2e-5, math.nan], "width = nan")])
def test_what_tells_nothing_is_refused(energy, width, why):
    with pytest.raises(cf.ValidityError, match=why):
        calibration.squared_width(energy, width)


def test_columns_must_match():
    with pytest.raises(ValueError, match="as many of both"):
        calibration.squared_width([1, 2, 3], [1e-5, 2e-5])
    with pytest.raises(ValueError, match='"lines" or "pulses"'):
        calibration.squared_width([1, 2, 3], [1e-5, 2e-5, 3e-5], exposed="shots")
    with pytest.raises(cf.ValidityError, match="no waist|do not grow"):
        calibration.caustic_fit([0, 1e-3, 2e-3, 3e-3], [4e-5, 5e-5, 5e-5, 4e-5], wavelength="450 nm")
