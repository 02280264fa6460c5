"""The process window from Python. Truths: whole predictions, NumPy on the ends that are answered, closed forms."""
import math
import re

import numpy as np
import pytest
from conftest import ROOT, moments_meanwhile, write_png

import circumfluence as cf

DEMO_SPEED = 2.5 / 60  # m/s


@pytest.fixture()
def coated(tmp_path):
    """A solid square of 3 mm on the demo bottle, on a grid that is fine beside the spot; a laser that can over-burn it."""
    write_png(tmp_path / "art.png", np.zeros((30, 30), np.uint8))
    text = (ROOT / "sim/demo/finisher_bottle.toml").read_text()
    for old, new in (('"finisher_art.png"', '"art.png"'), ('"96 mm"', '"3 mm"'), ('"10 W"', '"500 W"'),
                     ('"75 %"', '"7.5 W"'), ('"50 um"', '"5 um"')):
        assert text.count(old) == 1
        text = text.replace(old, new)
    (tmp_path / "coated.toml").write_text(text)
    return cf.read_job(tmp_path / "coated.toml")


@pytest.fixture()
def bare(coated):
    text = re.sub(r"(?m)^coat.*\n", "", coated.text).replace("al_6061", "aisi_304")
    return cf.parse_job(text, coated.folder).replace(speed="1200 mm/min")


def predicted(job, power, **more):
    return cf.predict(job.replace({"scan.power": power}), warming=False, **more)


def bisected(holds, near):
    low, high = 0.85 * near, 1.15 * near
    assert not holds(low) and holds(high)
    while high / low > 1.001:
        middle = math.sqrt(low * high)
        low, high = (low, middle) if holds(middle) else (middle, high)
    return math.sqrt(low * high)


# Truth: whole predictions, told apart by their rulings.
@pytest.mark.parametrize("spacing", ["0.1 mm", "0.05 mm"])
@pytest.mark.parametrize("part", ["coated", "bare"])
def test_ends_are_where_the_verdict_of_a_whole_prediction_changes(part, spacing, request):
    job = request.getfixturevalue(part).replace(spacing=spacing)
    ends = cf.ends(job, speed=job["scan.speed"])
    marks, burns = float(ends["marks"]), float(ends["burns"])

    def ruled(*rulings):
        return lambda power: predicted(job, power, keep=False).verdict.ruling in rulings

    assert bisected(ruled("over-burns"), burns) == pytest.approx(burns, rel=0.02)
    begins = bisected(lambda power: not ruled("leaves no mark")(power), float(ends["begins"]))
    assert begins == pytest.approx(ends["begins"], rel=0.02)
    if marks < burns:
        assert bisected(ruled("marks", "over-burns"), marks) == pytest.approx(marks, rel=0.02)
    else:  # lines of 304 melt before what lies between them darkens
        assert (part, spacing) == ("bare", "0.1 mm")


# Truth: the maps' own cells, which know nothing of an even fill; away from the square's rim.
@pytest.mark.parametrize("spacing", ["0.1 mm", "0.05 mm"])
@pytest.mark.parametrize("part", ["coated", "bare"])
def test_ends_are_where_the_cells_of_a_map_change(part, spacing, request):
    job = request.getfixturevalue(part).replace(spacing=spacing)
    ends = cf.ends(job, speed=job["scan.speed"])

    def share(power, outcome):
        mark = predicted(job, power)
        rows, columns = np.flatnonzero(mark.wanted.any(axis=1)), np.flatnonzero(mark.wanted.any(axis=0))
        return (mark.outcome[rows[60]:rows[-60], columns[60]:columns[-60]] >= outcome).mean()

    marks, burns = float(ends["marks"]), float(ends["burns"])
    assert bisected(lambda power: share(power, 2) >= 0.95, marks) == pytest.approx(marks, rel=0.025)
    assert bisected(lambda power: share(power, 3) > 0.005, burns) == pytest.approx(burns, rel=0.02)


def test_ends_for_sliders(job):
    scene = cf.prepare(job)
    speeds = np.geomspace(500, 6000, 60) / 60e3
    found = cf.ends(scene, speed=speeds)
    assert list(found) == ["begins", "centre", "marks", "burns"] and all(e.shape == (60,) for e in found.values())
    assert np.all(found["begins"] <= found["centre"]) and np.all(found["centre"] <= found["marks"])
    for i in (0, 17, 42, 59):  # between the speeds that are solved
        alone = cf.ends(scene, speed=speeds[i])
        assert alone["marks"].shape == () and alone["marks"] == pytest.approx(found["marks"][i], rel=0.005)
        assert alone["burns"] == pytest.approx(found["burns"][i], rel=0.005)
    backwards = cf.ends(job, speed=[f"{1e3 * v!r} mm/s" for v in speeds[::-1].tolist()])
    assert np.allclose(backwards["marks"][::-1], found["marks"], rtol=1e-9)
    one, two = cf.ends(scene, speed=speeds, threads=1), cf.ends(scene, speed=speeds, threads=2)
    assert all(np.array_equal(one[name], two[name]) for name in one)
    closer = cf.ends(scene, speed=speeds, spacing="0.05 mm", passes=2, focus_offset="0.1 mm")
    assert np.all(closer["marks"] < found["marks"])


# Truth: NumPy on the ends.
def test_window_is_made_of_its_ends(job):
    xarray = pytest.importorskip("xarray")
    power, speed = np.linspace(0.5, 200, 23), np.geomspace(0.01, 0.1, 9)
    found = cf.window(job, power=power, speed=speed, spacing=["0.08 mm", 0.1e-3], passes=[1, 2, 3],
                      focus_offset="0.2 mm")
    assert found.outcome.dims == ("spacing", "passes", "power", "speed") and found.marks.dims == ("spacing", "passes", "speed")
    assert np.array_equal(found.power, power) and np.array_equal(found.spacing, [0.08e-3, 0.1e-3])
    assert found.focus_offset.shape == () and found.focus_offset == pytest.approx(0.2e-3)
    p = found.power
    for name, end in (("least_factor", found.marks), ("greatest_factor", found.burns)):
        assert np.array_equal(found[name], (end / p).transpose(*found[name].dims))
    outcome = (p >= found.begins).astype(int)
    outcome = xarray.where(p >= found.marks, 2, outcome)
    outcome = xarray.where(p >= found.burns, 3, outcome).transpose(*found.outcome.dims)
    assert np.array_equal(found.outcome, outcome) and set(np.unique(outcome)) == {1, 2, 3}
    same = cf.ends(job, speed=speed, spacing=0.1e-3, passes=2, focus_offset=0.2e-3)
    assert np.array_equal(found.marks.sel(spacing=0.1e-3, passes=2), same["marks"])
    raster = cf.plan(cf.prepare(job.replace({"scan.passes": 3, "scan.spacing": "0.08 mm", "scan.speed": float(speed[4])})))
    assert found.duration.sel(spacing=0.08e-3, passes=3)[4] == pytest.approx(raster.duration, rel=1e-6)


def test_axes_left_out_and_scalars(job):
    pytest.importorskip("xarray")
    usual = cf.window(cf.prepare(job))
    assert dict(usual.sizes) == {"power": 60, "speed": 60}
    assert float(usual.power[0]) == pytest.approx(0.2) and float(usual.power[-1]) == pytest.approx(10)
    assert float(usual.speed[0]) == pytest.approx(DEMO_SPEED / 5)
    assert float(usual.speed[-1]) == pytest.approx(0.1)  # scan.top_speed
    assert float(usual.spacing) == pytest.approx(1e-4) and int(usual.passes) == 1
    point = cf.window(job, power="75 %", speed="2500 mm/min")
    assert point.outcome.shape == () and float(point.power) == pytest.approx(7.5)
    verdict = cf.predict(job.replace(cell="5 um"), warming=False).verdict
    assert ["leaves no mark", "under-marks", "marks", "over-burns"][int(point.outcome)] == verdict.ruling
    mixed = cf.window(job, power=["10 %", 7.5, "8 W"], speed=(DEMO_SPEED,))
    assert np.allclose(mixed.power, [1, 7.5, 8]) and mixed.marks.shape == (1,)


def test_what_a_window_says_of_itself(job, tmp_path):
    xarray = pytest.importorskip("xarray")
    found = cf.window(job, speed=[0.02, 0.04], power=[2.0, 7.0], chances=True, draws=16, seed=7, warming=True)
    assert found.attrs["draws"] == 16 and found.attrs["seed"] == 7 and found.attrs["warming"] == 1
    assert cf.parse_job(found.attrs["job"], job.folder) == job and found.attrs["version"] == cf.__version__
    assert found.speed.attrs["units"] == "m/s" and found.outcome.dtype == np.uint8
    assert len(found.outcome.attrs["flag_meanings"].split()) == len(found.outcome.attrs["flag_values"]) == 4
    found.to_netcdf(tmp_path / "window.nc", engine="h5netcdf")
    with xarray.open_dataset(tmp_path / "window.nc", engine="h5netcdf") as back:
        xarray.testing.assert_equal(back, found)


def test_a_warm_wall_needs_less(job):
    pytest.importorskip("xarray")
    slow = job.replace({"workpiece.wall": "0.3 mm", "workpiece.base": "aisi_304"})
    cold, warm = (cf.window(slow, speed=[0.01, 0.02], power=[7.5], warming=warming) for warming in (False, True))
    assert np.all(warm.burns < cold.burns) and np.all(warm.marks <= cold.marks)


def phi(x):
    return 0.5 * np.vectorize(math.erfc)(-np.asarray(x) / math.sqrt(2))


# Truth: the closed form over the power that arrives, written again.
def test_chances_are_the_closed_form_over_draws(job):
    pytest.importorskip("xarray")
    doubt = cf.Doubt(job, draws=32, seed=3)
    assert doubt.power_spread == pytest.approx(0.05) and doubt.count == 32
    power, speed = np.array([1.0, 5.0, 7.5, 150.0]), np.array([0.02, 0.04])
    found = cf.window(job, power=power, speed=speed, chances=True, draws=32, seed=3)
    for i, outlook in enumerate(doubt.over(speed=speed)):
        marked = phi(np.log(power[:, None] / outlook.marks) / 0.05)
        burnt = phi(np.log(power[:, None] / outlook.burns) / 0.05)
        good = np.maximum(0, marked - burnt).mean(axis=1)
        for name, ours in (("marks", marked.mean(axis=1)), ("spares", (1 - burnt).mean(axis=1)), ("good", good)):
            assert np.allclose(outlook.at(power)[name], ours, atol=1e-12)
            assert np.allclose(found["chance_" + name][:, i], ours, atol=1e-12)
        for chance in (0.05, 0.5, 0.95):
            assert outlook.at(outlook.least(chance))["marks"] == pytest.approx(chance, abs=1e-6)
            assert outlook.at(outlook.greatest(chance))["spares"] == pytest.approx(chance, abs=1e-6)


def test_chances_without_a_spread_of_the_power_are_counts(job):
    exact = job.replace({"laser.power_spread": "0 %"})
    doubt = cf.Doubt(exact, draws=64)
    outlook = doubt.over(speed=DEMO_SPEED)
    assert doubt.power_spread == 0 and outlook.at("5 W")["marks"] == (outlook.marks <= 5).mean()
    assert outlook.at(5.0) == outlook.at("5 W") and np.all(np.isfinite(outlook.marks))


def test_chances_of_one_setting(job):
    found = cf.chances(job, warming=False)
    outlook = cf.Doubt(job).over(speed=DEMO_SPEED)
    assert found.power == 7.5 and found.speed == pytest.approx(DEMO_SPEED)
    at = outlook.at(7.5)
    assert (found.chance_marks, found.chance_spares, found.chance_good) == (at["marks"], at["spares"], at["good"])
    low, middle, high = found.least_factor
    assert low < middle < high and 7.5 * high == pytest.approx(outlook.least(0.95))
    low, middle, high = found.greatest_factor
    assert low < middle < high and 7.5 * low == pytest.approx(outlook.greatest(0.95))
    assert found.power_low == outlook.least(0.95) and found.power_high == min(10, outlook.greatest(0.95))
    other = cf.chances(job, power="50 %", speed="1000 mm/min", marks="80 %", draws=16)
    assert other.power == 5 and other.speed == pytest.approx(1 / 60) and other.to_dict()["power_low"] == pytest.approx(other.power_low)
    assert cf.chances(job).to_dict() == cf.chances(cf.prepare(job), threads=1).to_dict()


def test_recommendation_keeps_its_word(job):
    found = cf.recommend(job, draws=64)
    best = found.fastest
    assert best.chance_marks >= 0.95 and best.chance_spares >= 0.95
    assert best.power_low <= best.power <= min(best.power_high, 10)
    again = cf.chances(job, power=best.power, speed=best.speed, draws=64)
    for name in ("chance_marks", "chance_spares", "chance_good", "duration", "power_low"):
        assert getattr(again, name) == pytest.approx(getattr(best, name), rel=0.01), name
    faster = cf.chances(job, speed=1.05 * best.speed, draws=64)
    assert faster.power_low > faster.power_high
    assert np.all(np.diff(found.curve["duration"]) > 0) and np.all(np.diff(found.curve["chance_good"]) > 0)
    assert [s.speed for s in found.trade] == found.curve["speed"].tolist()
    figures = found.to_dict()
    assert figures["fastest"]["speed"] == pytest.approx(best.speed) and figures["asked"] == {"marks": 0.95, "burns": 0.05}
    assert len(found.trade_text(3).splitlines()) >= 3
    assert "the fastest with a chance of at least" in str(found) and not found.relaxations
    assert cf.recommend(job, marks="50 %", draws=64).fastest.speed > best.speed
    assert cf.recommend(job, draws=64, spacing=["0.06 mm", "0.1 mm"]).fastest.duration < best.duration


def test_where_nothing_will_do_limits_that_would(job):
    found = cf.recommend(job, speed=np.linspace(0.09, 0.1, 4), draws=32, warming=False)
    assert found.fastest is None and "none within the limits" in str(found) and found.to_dict()["fastest"] is None
    relaxed = {r.what: r for r in found.relaxations}
    assert {"laser.rated_power", "scan.speed", "scan.spacing"} <= set(relaxed)
    assert relaxed["laser.rated_power"].start == 10 and relaxed["laser.rated_power"].unit == "W"
    stronger = job.replace({"laser.rated_power": 1.001 * relaxed["laser.rated_power"].to, "scan.power": 7.5})
    assert cf.recommend(stronger, speed=np.linspace(0.09, 0.1, 4), draws=32, warming=False).fastest
    slower = relaxed["scan.speed"].to
    assert cf.recommend(job, speed=np.linspace(0.9 * slower, slower, 4), draws=32, warming=False).fastest


def test_unknowns_and_their_ranking(job):
    listed = cf.unknowns(job)
    named = {u.name: u for u in listed}
    assert named["laser.power"].spread == pytest.approx(0.05) and named["laser.power"].value == 7.5
    height = named["mount.height"]
    assert not height.relative and height.unit == "mm" and height.at(2) == pytest.approx(0.6e-3)
    absorbs = named["polyester_powder_black.absorptivity"]
    assert absorbs.at(1) == pytest.approx(absorbs.value * math.exp(absorbs.spread)) and "absorptivity" in absorbs.words
    ranking = cf.rank(job)
    assert len(ranking) == len(listed) and {r.name for r in ranking} == set(named)
    totals = [max(r.marks_total, r.burns_total) for r in ranking]
    assert totals == sorted(totals, reverse=True)
    assert sum(r.marks_first for r in ranking) == pytest.approx(1, abs=0.1)
    # The spread that is shared out is that of the draws, and of the power beside them.
    outlook = cf.Doubt(job, draws=256).over(speed=DEMO_SPEED)
    assert ranking.marks_spread**2 == pytest.approx(np.log(outlook.marks).var() + 0.05**2, rel=0.15)
    assert "size of the spot" in str(ranking) and ranking.to_dict()["unknowns"][0]["name"] == ranking.ranks[0].name


# Truth: Ishigami and Homma 1990, whose indices are closed forms.
def test_sobol_indices_of_a_python_function():
    a, b = 7, 0.1

    def ishigami(u):
        x = np.pi * (2 * u - 1)
        return np.sin(x[0]) + a * np.sin(x[1])**2 + b * x[2]**4 * np.sin(x[0])

    variance = a**2 / 8 + b * np.pi**4 / 5 + b**2 * np.pi**8 / 18 + 0.5
    first = np.array([0.5 * (1 + b * np.pi**4 / 5)**2, a**2 / 8, 0]) / variance
    total = first + np.array([1, 0, 1]) * (8 * b**2 * np.pi**8 / 225) / variance
    found = cf.sobol_indices(ishigami, 3, 4096, seed=5)
    assert found.first == pytest.approx(first, abs=0.01) and found.total == pytest.approx(total, abs=0.01)
    assert found.mean == pytest.approx(a / 2, abs=0.01) and found.variance == pytest.approx(variance, rel=0.01)
    line = cf.sobol_indices(lambda z: z[0] + 2 * z[1], 2, 1024, deviates="normal")
    assert line.first == pytest.approx([0.2, 0.8], abs=0.02) and line.variance == pytest.approx(5, rel=0.02)


def test_points_fill_evenly():
    points = cf.uniform_points(5, 256, seed=9)
    assert points.shape == (256, 5) and not points.flags.writeable
    for column in (points * 256).astype(int).T:
        assert np.array_equal(np.sort(column), np.arange(256))
    special = pytest.importorskip("scipy.special")
    assert np.allclose(cf.normal_points(5, 256, seed=9), special.ndtri(points), atol=1e-9)


def test_python_functions_that_fail():
    def fails(point):
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        cf.sobol_indices(fails, 2, 16)
    with pytest.raises(cf.ValidityError, match="f = nan"):
        cf.sobol_indices(lambda point: math.nan, 2, 16)
    with pytest.raises(ValueError, match='"uniform" or "normal"'):
        cf.sobol_indices(sum, 2, 16, deviates="even")
    with pytest.raises(cf.ValidityError, match="dimensions"):
        cf.uniform_points(0, 16)
    with pytest.raises(cf.Interrupted):
        cf.sobol_indices(sum, 2, 16, progress=lambda share: False)


@pytest.mark.parametrize("axes, problem", [
    (dict(speed=[]), "window.speed is empty"),
    (dict(speed=[0.02, 0.01]), "Sort it"),
    (dict(power=[1.0, math.nan]), "power has nan"),
    (dict(power=[-1.0, 1.0]), "expected a positive"),
    (dict(spacing=0.0), "spacing has 0 mm"),
    (dict(focus_offset=math.inf), "focus_offset has inf"),
    (dict(passes=[0, 1]), "passes has 0"),
    (dict(power=np.linspace(1, 10, 1001), speed=np.linspace(0.01, 0.1, 1000)), "1001000 settings"),
    (dict(power=[5.0], speed=[0.02], chances=True, draws=1), "draws = 1"),
])
def test_axes_that_are_refused(job, axes, problem):
    with pytest.raises(cf.ValidityError, match=re.escape(problem)):
        cf.window(job, **axes)


def test_many_settings_when_asked_for(job):
    pytest.importorskip("xarray")
    found = cf.window(job, power=np.linspace(1, 10, 1001), speed=np.linspace(0.01, 0.1, 1000), many=True)
    assert found.outcome.size == 1001000


def test_what_is_no_axis(job):
    with pytest.raises(cf.JobError, match="a power"):
        cf.window(job, power="3 mm")
    with pytest.raises(TypeError, match="whole number"):
        cf.window(job, passes=1.5)
    with pytest.raises(ValueError, match=r"shape \(2, 2\)"):
        cf.window(job, speed=np.ones((2, 2)))
    with pytest.raises(TypeError, match="Job or a prepared Scene"):
        cf.ends("bottle.toml", speed=0.02)
    with pytest.raises(TypeError, match="needs the keyword argument 'speed'"):
        cf.ends(job)
    for wrong in ([], 0.0, math.nan, [0.02, -1.0]):
        with pytest.raises(cf.ValidityError, match="window.speed"):
            cf.ends(job, speed=wrong)
    with pytest.raises(TypeError, match="'spede'"):
        cf.ends(job, speed=0.02, spede=1)


def test_what_is_no_wish(job):
    with pytest.raises(cf.ValidityError, match="chance of marking = 1.2"):
        cf.recommend(job, marks="120 %")
    with pytest.raises(cf.ValidityError, match="over-burning = -0.1"):
        cf.chances(job, burns=-0.1)
    with pytest.raises(cf.ValidityError, match="chance = 2"):
        cf.Doubt(job, draws=2).over(speed=0.02).least(2)
    with pytest.raises(TypeError, match="chooses the power"):
        cf.recommend(job, power=5)
    with pytest.raises(ValueError, match="seed = -1"):
        cf.Doubt(job, seed=-1)
    with pytest.raises(cf.ValidityError, match="520 nm"):
        cf.ends(job.replace(wavelength="520 nm"), speed=0.02)


def test_progress_rises_to_one_and_can_stop(job):
    pytest.importorskip("xarray")
    for work in (lambda **more: cf.window(job, chances=True, **more), lambda **more: cf.recommend(job, **more),
                 lambda **more: cf.rank(job, draws=64, **more), lambda **more: cf.chances(job, **more)):
        shares = []
        work(progress=shares.append)
        assert shares == sorted(shares) and shares[-1] == 1
        with pytest.raises(cf.Interrupted):
            work(progress=lambda share: False)


def test_the_interpreter_runs_on_meanwhile(job):
    assert moments_meanwhile(lambda: cf.Doubt(job, draws=512).over(speed=np.geomspace(0.01, 0.1, 20))) >= 3


def test_plot_window(job):
    pytest.importorskip("xarray")
    pytest.importorskip("matplotlib").use("Agg")
    found = cf.window(job, chances=True, draws=16)
    axes = cf.plot_window(found)
    assert axes.get_xlabel() == "speed [mm/min]" and axes.get_xlim() == pytest.approx((500, 6000))
    assert [t.get_text() for t in axes.get_legend().get_texts()] == ["leaves no mark", "under-marks", "marks", "over-burns"]
    assert "95 % marks" in {t.get_text() for t in axes.texts}
    axes.figure.clear()
    with pytest.raises(ValueError, match="isel"):
        cf.plot_window(cf.window(job, spacing=["0.08 mm", "0.1 mm"]))


def test_a_setting_says_what_to_change(job):
    found = cf.recommend(job, draws=32)
    best = found.fastest or found.trade[-1]
    altered = job.replace(best.changes())
    assert altered["scan.passes"] == "1" and cf.prepare(altered).power == pytest.approx(best.power, rel=1e-5)
    assert cf.quantity(altered["scan.speed"], "mm/s") == pytest.approx(best.speed, rel=1e-5)
    assert set(found.curve) >= {"duration", "chance_good", "spacing", "focus_offset", "passes"}


def test_figures_of_a_prediction_have_intervals(job):
    mark = cf.predict(job.replace({"laser.power_spread": "5 %", "laser.spot_spread": "10 %"}), warming=False)
    sure = cf.doubts(mark, draws=64)
    for low, middle, high in (sure.least_factor, sure.greatest_factor, sure.marked, sure.hottest):
        assert low <= middle <= high
    assert sure.least_factor[0] < mark.verdict.least_factor < sure.least_factor[2]
    chances = sure.chance_map()
    assert chances.shape == mark.margin.shape and 0 <= chances.min() and chances.max() <= 1
    wanted = mark.wanted == 1
    assert chances[wanted].mean() > 0.5 > chances[~wanted].mean()
    assert "likely" in str(sure) and "Doubts" in repr(sure)
