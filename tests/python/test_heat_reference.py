"""The reference solver from Python. Truths: Carslaw & Jaeger 2.9 and 3.8 (values by two methods), energy of ablation."""
import math
import os
import signal
import threading
import time

import numpy as np
import pytest

import circumfluence as cf

WIDE = 10e-3
STEEL = dict(thickness="1 mm", conductivity=16.2, capacity=7900 * 500, absorptivity="100 %", cell="2 um", growth=1.03)
FILM = dict(thickness=20e-6, conductivity=0.25, capacity=1400 * 1500, absorptivity=1, removal_temperature="893 K", removal_heat=1.4e9,
            cell="1 um")
COLUMN = dict(length="50 um", half_width="50 um", margin=0, cell_along="50 um", cell_across="100 um", sides="insulated",
              back="insulated")


def flux(density, duration, **more):
    return dict(along=WIDE, across=WIDE, speed=0, power=density * math.pi * WIDE**2 / 2, begin_at="25 um", duration=duration, start=293,
                **more)


def test_constant_flux_into_steel():
    probes = [(25e-6, 0, 0)]
    out = cf.solve_enthalpy(layers=[STEEL], patch=COLUMN, run=flux(1e8, "1 ms", probes=probes))
    assert out.peak[0, 0] - 293 == pytest.approx(446.066, rel=2e-3)
    assert np.interp([50e-6, 100e-6], out.z, out.peak_below) - 293 == pytest.approx([203.725, 76.098], rel=5e-3)
    assert abs(out.balance["imbalance"]) < 1e-10 and out.balance["absorbed"] == pytest.approx(out.balance["stored"], rel=1e-9)
    assert out.cycle.shape == (1, len(out.time)) and out.time[-1] == pytest.approx(1e-3)
    assert out.cycle[0, -1] == pytest.approx(out.peak[0, 0], rel=2e-3)
    root = np.sqrt(out.time / 1e-3)  # the surface goes with the square root of time
    assert (out.cycle[0] - 293)[50:] == pytest.approx(446.066 * root[50:], rel=0.02)


def test_structs_or_dicts():
    layer = cf.EnthalpyLayer(**{**STEEL, "thickness": "0.4 mm"})
    assert layer.thickness == pytest.approx(0.4e-3) and math.isinf(layer.solidus) and "conductivity=16.2" in repr(layer)
    patch, run = cf.EnthalpyPatch(**COLUMN), cf.EnthalpyRun(**flux(1e6, 1e-3))
    assert patch.back == "insulated" and run.begin_at == pytest.approx(25e-6) and len(run.power) == 1
    one = cf.solve_enthalpy(layers=[layer], patch=patch, run=run, steps=cf.EnthalpySteps(threads=1))
    two = cf.solve_enthalpy(layers=[{**STEEL, "thickness": "0.4 mm"}], patch=COLUMN, run=flux(1e6, 1e-3), steps=dict(threads=1))
    assert np.array_equal(one.peak, two.peak) and one.steps == two.steps and "energy closes" in repr(one)


def test_a_film_costs_its_enthalpy():
    density = 1e9
    gone = 20e-6 * (1400 * 1500 * 600 + 1.4e9) / density
    half = cf.solve_enthalpy(layers=[FILM, STEEL], patch=COLUMN, run=flux(density, gone / 2))
    assert half.removed[0, 0] == pytest.approx(10e-6, abs=1.5e-6) and half.base == 20
    whole = cf.solve_enthalpy(layers=[FILM, STEEL], patch=COLUMN, run=flux(density, 2 * gone))
    assert whole.removed[0, 0] == pytest.approx(20e-6) and whole.peak[0, 0] > half.peak[0, 0]


def test_views_are_read_only_and_keep_the_result():
    peak = cf.solve_enthalpy(layers=[STEEL], patch=COLUMN, run=flux(1e8, 1e-4)).peak
    with pytest.raises(ValueError):
        peak[0, 0] = 0
    assert 293 < peak[0, 0] < 739


@pytest.mark.parametrize("layers, run, error, words", [
    ([{**STEEL, "conductivity": -1}], flux(1, 1), cf.ValidityError, "conductivity = -1"),
    ([FILM], flux(1, 1), cf.ValidityError, "removal temperature"),
    ([], flux(1, 1), cf.ValidityError, "layers"),
    ([{"thickness": 1}], flux(1, 1), TypeError, "EnthalpyLayer.. needs the keyword argument 'conductivity'"),
    ([{**STEEL, "colour": 1}], flux(1, 1), TypeError, "colour"),
    ([3], flux(1, 1), TypeError, "EnthalpyLayer or a dict"),
    ([STEEL], {**flux(1, 1), "duration": "1 mm"}, cf.JobError, "a time")])
def test_what_is_refused(layers, run, error, words):
    with pytest.raises(error, match=words):
        cf.solve_enthalpy(layers=layers, patch=COLUMN, run=run)


LONG = dict(layers=[STEEL], patch=COLUMN, run=flux(1e6, 1e-3), steps=dict(least=20_000_000))


def test_progress_and_stopping():
    seen = []
    cf.solve_enthalpy(layers=[STEEL], patch=COLUMN, run=flux(1e8, 1e-3), steps=dict(least=20_000), progress=seen.append)
    assert len(seen) > 2 and seen == sorted(seen) and 0 <= seen[0] and seen[-1] <= 1
    with pytest.raises(cf.Interrupted):
        cf.solve_enthalpy(progress=lambda share: False, **LONG)
    with pytest.raises(ZeroDivisionError):
        cf.solve_enthalpy(progress=lambda share: 1 / 0, **LONG)


def test_other_threads_run_on_and_ctrl_c_stops_it():
    ticks = []

    def interrupt():
        for _ in range(20):
            time.sleep(0.01)
            ticks.append(1)
        os.kill(os.getpid(), signal.SIGINT)

    thread = threading.Thread(target=interrupt)
    begun = time.monotonic()
    thread.start()
    with pytest.raises(KeyboardInterrupt):
        cf.solve_enthalpy(**LONG)
    thread.join()
    assert len(ticks) == 20 and time.monotonic() - begun < 10
