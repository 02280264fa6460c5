"""Layers, history. Truths: two-layer and plate values that three independent methods agree on; limits and symmetry."""
import math

import numpy as np
import pytest

import circumfluence as cf

POLYMER = ("30 um", "0.25 W/(m K)", 1400 * 1500.0)
ALUMINIUM = cf.Layer(thickness=math.inf, conductivity=167, capacity=2700 * 896.0)
STEEL = (math.inf, 16.2, 7900 * 500.0)
SPOT = dict(along="40 um", across="40 um", speed=41.667e-3)


@pytest.mark.parametrize("base, z, depth, rise, x", [
    (ALUMINIUM, 0, 0, 78978.393, -12.08e-6), (ALUMINIUM, "15 um", 0, 24099.562, -42.72e-6),
    (ALUMINIUM, "30 um", 0, 106.888, -71.07e-6), (STEEL, "30 um", 0, 869.393, -79.19e-6),
    (ALUMINIUM, 0, "10 um", 41640.963, None), (ALUMINIUM, "30 um", "10 um", 112.4239, None)])
def test_published_coat_on_metal(base, z, depth, rise, x):
    peak, where = cf.LayeredSpot(layers=[POLYMER, base], z=z, depth=depth, **SPOT).peak()
    assert 5 * peak == pytest.approx(rise, rel=2e-5)
    assert x is None or where == pytest.approx(x, abs=0.02e-6)


def test_plates_and_cooled_backs():
    plate = lambda h, **more: cf.LayeredSpot(layers=[(h, *STEEL[1:])], **SPOT, **more).peak()[0]
    assert plate("0.5 mm") == pytest.approx(571.4130, rel=2e-5)
    assert plate("0.2 mm") == pytest.approx(578.2384, rel=2e-5)
    cooled = [plate("0.2 mm", back=back, back_transfer="20 kW/(m^2 K)") for back in ("ambient", "wetted")]
    assert cooled[0] == cooled[1] < plate("0.2 mm")


def test_rise_broadcasts_and_profile_and_cycle_agree_with_it():
    spot = cf.LayeredSpot(layers=[STEEL], **SPOT)
    solid = dict(conductivity=16.2, diffusivity=16.2 / STEEL[2], **SPOT)
    x, y = np.linspace(-2e-4, 6e-5, 7), np.array([[0.0], [3e-5]])
    rises = spot.rise(x, y)
    assert rises.shape == (2, 7)
    assert rises == pytest.approx(cf.rise(x=x, y=y, **solid), abs=1e-4 * spot.peak()[0])
    assert spot.rise("-40 um") == pytest.approx(279.274241, abs=0.06) and np.isscalar(spot.rise())
    across, peaks = spot.profile()
    assert across[0] == 0 and not peaks.flags.writeable and not across.flags.writeable
    i = int(np.searchsorted(across, 40e-6))
    assert peaks[i] == pytest.approx(spot.peak(across[i])[0], rel=3e-4)
    time, rise = spot.cycle(least=0.1)
    assert np.all(np.diff(time) > 0) and rise.max() == pytest.approx(spot.peak()[0], rel=1e-3)
    assert np.all(rise[[0, -1]] < 0.1 * rise.max()) and np.all(rise[[2, -3]] > 0.03 * rise.max())
    at = np.interp(0.5e-3, time, rise)  # the spot is 20.8 um beyond the point
    assert at == pytest.approx(spot.rise(-0.5e-3 * 41.667e-3), abs=1e-3 * rise.max())


def test_flat_tops_are_cooler_in_the_middle():
    flat = cf.LayeredSpot(layers=[STEEL], order_along=10, order_across=10, **SPOT)
    assert 0.7 < flat.peak()[0] / cf.LayeredSpot(layers=[STEEL], **SPOT).peak()[0] < 1
    assert "1 layer, 40 um x 40 um, 41.667 mm/s" in repr(flat)


@pytest.mark.parametrize("change, error, words", [
    (dict(layers=[]), cf.ValidityError, "no layers"),
    (dict(layers=[(0, 1, 1)]), cf.ValidityError, "layer 1.*thickness"),
    (dict(layers=[STEEL, STEEL]), cf.ValidityError, "only the last"),
    (dict(layers=[(1e-3, 1)]), TypeError, "thickness, conductivity, capacity"),
    (dict(along=-1), cf.ValidityError, ""),
    (dict(back="glued"), ValueError, '"insulated", "ambient" or "wetted"'),
    (dict(back="wetted", layers=[(1e-3, 1, 1)]), cf.ValidityError, "back transfer"),
    (dict(along="3 W"), cf.JobError, "a length"),
    (dict(wide=1), TypeError, "unexpected keyword argument 'wide'")])
def test_what_cannot_be_computed(change, error, words):
    with pytest.raises(error, match=words):
        cf.LayeredSpot(**{**dict(layers=[STEEL], **SPOT), **change})


def test_what_is_missing_is_named():
    with pytest.raises(TypeError, match="LayeredSpot.. needs the keyword argument 'speed'"):
        cf.LayeredSpot(layers=[STEEL], along=1, across=1)


def test_history_of_a_line():
    # A steady line hears its own energy; before an edge nothing, after it more and more; back is forth mirrored.
    echo = cf.history(conductivity=16.2, diffusivity=16.2 / STEEL[2], column="50 um", wall="0.4 mm", **SPOT)
    assert echo.heard(np.full(400, 2.5))[200] == pytest.approx(2.5, abs=0.015)
    edge = np.zeros(200, np.float32)
    edge[100:] = 1
    heard = echo.heard(edge)
    assert heard[:90].max() < 0.05 and np.all(np.diff(heard[100:150]) >= -1e-6)
    assert 0.5 < heard[101] < heard[180] <= 1.0001
    assert np.array_equal(echo.heard(edge[::-1], "back")[::-1], heard)
    assert echo.heard(3 * edge) == pytest.approx(3 * heard, abs=1e-5)
    ahead, near, far = echo.moments[0]
    assert not near.flags.writeable and 0 < len(near) <= echo.reach and isinstance(ahead, int)
    del echo
    assert np.isfinite(near).all() and near.sum() + far.sum() <= 1.001


def test_history_refuses():
    body = dict(conductivity=16.2, diffusivity=4e-6, along=4e-5, across=4e-5, column=5e-5)
    with pytest.raises(cf.ValidityError, match="speed"):
        cf.history(speed=0, **body)
    echo = cf.history(speed="1 m/s", **body)
    with pytest.raises(ValueError, match='"forth" or "back"'):
        echo.heard([1.0], "sideways")
    for wrong in ([[1.0]], []):
        with pytest.raises(ValueError, match="one row"):
            echo.heard(wrong)
