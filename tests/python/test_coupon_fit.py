"""Truth: reports drawn for a known truth, by the same model (recovery by another is tested with the notebook); the prior."""
import os
import signal
import threading

import numpy as np
import pytest

import circumfluence as cf
from circumfluence import calibration
from conftest import moments_meanwhile


@pytest.fixture(scope="module")
def bottle(tmp_path_factory):
    """A scene of the demo bottle, without its art's folder."""
    folder = tmp_path_factory.mktemp("bottle")
    from conftest import ROOT, write_png
    tones = np.full((40, 40), 255, np.uint8)
    tones[10:30, 10:30] = 0
    write_png(folder / "art.png", tones)
    text = (ROOT / "sim/demo/finisher_bottle.toml").read_text().replace("finisher_art.png", "art.png").replace('"96 mm"', '"8 mm"')
    (folder / "small.toml").write_text(text)
    return cf.prepare(cf.read_job(folder / "small.toml"))


@pytest.fixture(scope="module")
def planned(bottle):
    return calibration.plan(bottle, patches=8, draws=64, width="70 mm", height="50 mm")


@pytest.fixture(scope="module")
def trials(bottle, planned):
    return calibration.Trials(bottle, planned.coupon)


@pytest.fixture(scope="module")
def truth(trials):
    return np.random.default_rng(5).standard_normal(len(trials.unknowns)) * 0.7


@pytest.fixture(scope="module")
def report(trials, planned, truth):
    return calibration.simulated(trials, planned.coupon, truth=truth, seed=2)


def test_a_plan_tells_something(planned):
    assert 1 <= len(planned.coupon) <= 8 and len(planned.entropies) == len(planned.chosen)
    assert planned.entropies[-1] < planned.entropy_before and np.all(np.diff(planned.entropies) < 0.05)
    assert {slot.number for slot in planned.coupon.slots} == set(planned.chosen)
    assert "bit" in repr(planned)


def test_a_plan_keeps_to_what_it_is_given(bottle):
    only = calibration.plan(bottle, patches=4, draws=48, candidates={"power": ["2 W", "50 %"], "speed": ["2000 mm/min"], "passes": [1]},
                            wanted=calibration.Patch(power="3 W", speed="2000 mm/min", spacing="0.1 mm"))
    assert {round(slot.patch.power, 6) for slot in only.coupon.slots} <= {2.0, 5.0}
    with pytest.raises(TypeError, match="unexpected keyword"):
        calibration.plan(bottle, patch=4)
    with pytest.raises(TypeError):
        calibration.plan(bottle, candidates={"colour": [1]})
    with pytest.raises(cf.ValidityError):
        calibration.plan(bottle, draws=48, width="2 mm", height="2 mm")


def test_ladders_are_single_lines(bottle):
    powers, heights = calibration.power_ladder(bottle, lines=6), calibration.height_ladder(bottle)
    assert len(powers) == 6 and len(heights) == 9 and all(patch.is_line for patch in powers + heights)
    assert np.ptp(np.diff(np.log([patch.power for patch in powers]))) < 0.02  # evenly, to three figures
    assert len({patch.focus_offset for patch in heights}) == 9
    coupon = calibration.lay_out(bottle, powers, width="80 mm", height="40 mm", side="5 mm")
    assert len(coupon) == 6 and all(slot.patch.is_line for slot in coupon.slots)
    around = calibration.candidates_around(bottle, powers[0])
    assert len(around["power"]) > 1 and len(around["speed"]) > 1


def test_trials_know_their_patches(trials, planned):
    ends = trials.ends()
    assert len(trials) == len(planned.coupon) and np.all(ends["begins"] <= ends["marks"] * (1 + 1e-9))
    more = [u.name for u in trials.unknowns].index("laser.power")
    deviates = np.zeros(len(trials.unknowns))
    deviates[more] = 1
    assert np.all(trials.ends(deviates)["marks"] < ends["marks"])  # more arrives, less needs to be set
    assert np.isnan(trials.widths()[[not slot.patch.is_line for slot in planned.coupon.slots]]).all()
    with pytest.raises(ValueError, match="one an unknown"):
        trials.ends([0.0])


def test_a_fit_learns(bottle, planned, trials, report, truth):
    fit = calibration.fit(bottle, planned.coupon, report)
    count = len(fit.unknowns)
    assert fit.best.shape == (count,) and fit.covariance.shape == (count, count) and not fit.best.flags.writeable
    assert np.allclose(fit.covariance, fit.covariance.T) and np.linalg.eigvalsh(fit.covariance).min() > 0
    assert fit.learnt.max() > 0.3 and fit.learnt.min() > -1e-6 and fit.sampling is None
    off = fit.best - truth
    assert off @ np.linalg.solve(fit.covariance, off) < 2.2 * count + 10
    low, middle, high = fit.interval(fit.unknowns[0].name)
    assert low < middle < high and fit.interval(0) == (low, middle, high)
    assert fit.identifiability and "Fit of" in repr(fit) and len(fit.surprise) == len(report)
    assert isinstance(fit.to_dict(), dict) and str(fit)
    assert fit.draws.shape[1] == count
    for again in (calibration.fit(bottle, planned.coupon, report, threads=1), calibration.fit(trials, planned.coupon, report)):
        assert np.array_equal(again.best, fit.best)
    with pytest.raises(KeyError):
        fit.interval("colour")
    with pytest.raises(IndexError):
        fit.interval(count)


def test_the_prior_is_a_fit_of_nothing(bottle):
    prior = calibration.nothing_learnt(bottle)
    assert not prior.best.any() and np.array_equal(prior.covariance, np.eye(len(prior.unknowns))) and not prior.learnt.any()
    assert [u.name for u in calibration.fitted_unknowns(bottle)] == [u.name for u in prior.unknowns]


def test_what_was_learnt_narrows_the_forecast(bottle, planned, report):
    setting = calibration.Patch(power="5 W", speed="2500 mm/min", spacing="0.1 mm")
    before = calibration.forecast(bottle, calibration.nothing_learnt(bottle), setting)
    after = calibration.forecast(bottle, calibration.fit(bottle, planned.coupon, report), setting, draws=128)
    assert sum(before["chances"].values()) == pytest.approx(1) and sum(after["chances"].values()) == pytest.approx(1)
    assert np.log(after["marks"][2] / after["marks"][0]) < np.log(before["marks"][2] / before["marks"][0])


def test_a_second_coupon_goes_on_from_the_first(bottle, planned, report, trials, truth):
    first = calibration.fit(bottle, planned.coupon, report)
    second = calibration.fit(bottle, planned.coupon, calibration.simulated(trials, planned.coupon, truth=truth, seed=3), earlier=first)
    assert np.linalg.slogdet(second.covariance)[1] < np.linalg.slogdet(first.covariance)[1]
    following = calibration.next(bottle, second, draws=64)
    assert isinstance(following.stop, bool) and following.why and following.patch.power > 0 and str(following) == following.why


def test_chains_agree_with_the_gaussian(bottle, planned, report):
    gaussian = calibration.fit(bottle, planned.coupon, report)
    sampled = calibration.fit(bottle, planned.coupon, report, chains=dict(count=2, draws=200, seed=4))
    assert sampled.sampling.draws.shape == (400, len(sampled.unknowns)) and 0 < sampled.sampling.accepted <= 1
    spread = np.sqrt(np.diag(gaussian.covariance))
    assert np.abs((sampled.best - gaussian.best) / spread).max() < 1.5
    with pytest.raises(TypeError, match="unexpected"):
        calibration.fit(bottle, planned.coupon, report, chains=dict(length=3))


def test_a_fit_can_be_stopped_and_lets_others_run(bottle, planned, report):
    with pytest.raises(cf.Interrupted):
        calibration.fit(bottle, planned.coupon, report, chains=True, progress=lambda share: False)
    with pytest.raises(cf.Interrupted):
        calibration.plan(bottle, draws=64, progress=lambda share: False)
    assert moments_meanwhile(lambda: calibration.fit(bottle, planned.coupon, report)) > 3


@pytest.mark.parametrize("work", ["fit", "plan"])
def test_ctrl_c_ends_it(bottle, planned, report, work):
    timer = threading.Timer(0.2, lambda: os.kill(os.getpid(), signal.SIGINT))
    timer.start()
    with pytest.raises(KeyboardInterrupt):
        if work == "fit":
            calibration.fit(bottle, planned.coupon, report, chains=dict(count=4, draws=200_000))
        else:
            calibration.plan(bottle, patches=24, draws=4096)
    timer.join()


def test_fits_of_something_else_are_refused(bottle, planned, report):
    with pytest.raises(TypeError, match="Job or a prepared Scene"):
        calibration.fit("bottle", planned.coupon, report)
    for wrong in (dict(earlier="first"), dict(earlier=planned)):
        with pytest.raises(TypeError, match="earlier: expected a Fit"):
            calibration.fit(bottle, planned.coupon, report, **wrong)
    other = calibration.Coupon(planned.coupon.slots[:1], width="70 mm", height="50 mm", ink=planned.coupon.ink)
    assert len(report) > 1
    with pytest.raises((cf.ValidityError, cf.JobError)):
        calibration.fit(bottle, other, report)
