"""Truth: records that are kept are those of the fit; a job that uses them is predicted as the fit foretold."""
import numpy as np
import pytest

import circumfluence as cf
from circumfluence import calibration


@pytest.fixture()
def burnt(job):
    """A coupon of the job's fill over powers, and what came out of it, for a truth 1 spread away in all."""
    powers = [calibration.Patch(power=power, speed="2500 mm/min", spacing="0.1 mm") for power in np.geomspace(0.5, 9, 10)]
    coupon = calibration.lay_out(job, powers, width="80 mm", height="50 mm")
    trials = calibration.Trials(job, coupon)
    truth = np.full(len(trials.unknowns), -0.5)
    return coupon, calibration.simulated(trials, coupon, truth=truth, seed=8)


def test_a_fitted_material_is_a_record_like_any_other(job, burnt, tmp_path, monkeypatch):
    coupon, report = burnt
    fit = calibration.fit(job, coupon, report)
    fitted = calibration.fitted(job, fit, report, "club_black")
    assert fitted.records[0].name == "club_black" and fitted.changes and "coupon" in fitted.records[0].text
    assert fitted.job["workpiece.coat"] == "club_black" and str(fitted).count("\n") == len(fitted.changes)
    mine = tmp_path / "mine.toml"
    monkeypatch.setenv("CIRCUMFLUENCE_MY_MATERIALS", str(mine))
    assert calibration.own_materials_path() == str(mine)
    calibration.keep(fitted.records)
    assert "club_black" in mine.read_text()
    assert cf.prepare(fitted.job).coat.name == "club_black"
    before = mine.read_text()
    calibration.keep(fitted.records, mine)
    assert mine.read_text() == before
    with pytest.raises(cf.ValidityError):
        calibration.fitted(job, fit, report, "polyester_powder_black")


def test_before_and_after(job, burnt, tmp_path):
    coupon, report = burnt
    fitted = calibration.fitted(job, calibration.fit(job, coupon, report), report, "club_black")
    both = calibration.compare(job, fitted, draws=64)
    spread = [np.log(side.marks[2] / side.marks[0]) for side in (both.before, both.after)]
    assert spread[1] < spread[0] and 0 <= both.after.chance_good <= 1 and both.power == pytest.approx(7.5)
    assert str(both) and "good" in repr(both)
    calibration.write_windows(tmp_path / "windows.png", job, fitted)
    assert (tmp_path / "windows.png").read_bytes().startswith(b"\x89PNG")


def test_drift_of_nothing_is_none(job, burnt):
    coupon, report = burnt
    same = calibration.drift(job, then=(coupon, report), now=(coupon, report))
    low, middle, high = same.ratio
    assert low < 1 < high and middle == pytest.approx(1, abs=0.1) and 0.2 < same.chance_lower < 0.8 and str(same)
    with pytest.raises(ValueError, match="a coupon and its report"):
        calibration.drift(job, then=(coupon,), now=(coupon, report))
