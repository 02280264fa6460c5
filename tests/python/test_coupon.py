"""Truth: what was put in comes back from tables, text and pictures; tests/calibration has the rest."""
import pickle
import re

import numpy as np
import pytest

import circumfluence as cf
from circumfluence import calibration

FILL = dict(power="7.5 W", speed="2500 mm/min", spacing="0.1 mm")


@pytest.fixture()
def coupon():
    line = calibration.Patch(power=3, speed=0.04, spacing=0)
    slots = [calibration.Slot(1, FILL, ("8 mm", "20 mm", "4 mm", "4 mm")),
             calibration.Slot(2, dict(FILL, power="5 W", passes=2), ("18 mm", "20 mm", "4 mm", "4 mm")),
             calibration.Slot(7, line, ("28 mm", "20 mm", "4 mm", "4 mm"))]
    return calibration.Coupon(slots, width="40 mm", height="30 mm", ink=FILL, letters="1 mm")


def test_patches_speak_units():
    patch = calibration.Patch(**FILL, focus_offset="-1 mm", direction="around")
    assert (patch.power, patch.spacing, patch.focus_offset, patch.passes) == (7.5, 1e-4, -1e-3, 1)
    assert patch.speed == pytest.approx(2.5 / 60) and patch.direction == "around" and not patch.is_line
    assert "7.5 W at 2500 mm/min" in repr(patch)
    for wrong, error in ((dict(FILL, power="7.5 mm"), cf.JobError), (dict(FILL, colour="red"), TypeError), (dict(power=1), TypeError),
                         (dict(FILL, direction="across"), ValueError)):
        with pytest.raises(error):
            calibration.Patch(**wrong)


def test_a_patch_is_a_change_of_a_job(job):
    changed = job.replace(calibration.Patch(**FILL, passes=2, focus_offset="0.5 mm").changes())
    assert [changed[key] for key in ("scan.power", "scan.speed", "scan.spacing")] == ["7.5 W", "2500 mm/min", "0.1 mm"]
    assert changed["scan.focus_offset"] == "0.5 mm" and str(changed["scan.passes"]) == "2"


def test_a_coupon_survives_its_table(coupon, tmp_path):
    path = tmp_path / "coupon.csv"
    coupon.write_table(path)
    for back in (calibration.read_coupon(path), calibration.parse_coupon(coupon.table), pickle.loads(pickle.dumps(coupon))):
        assert back.table == coupon.table and len(back) == 3 and back.ground == "flat"
        assert back[7].patch.is_line and back[2].patch.passes == 2
        assert back[1].place.x == pytest.approx(8e-3) and back.ink.power == pytest.approx(7.5)
    assert coupon.corner_mark(2).x == pytest.approx(coupon.width - coupon.corner)
    assert "5 W" in coupon.label(2)
    with pytest.raises(KeyError):
        coupon[3]
    with pytest.raises(IndexError):
        coupon.corner_mark(4)


def test_coupons_that_cannot_be_burnt_are_refused(coupon):
    slots = coupon.slots
    with pytest.raises(cf.ValidityError):
        calibration.Coupon(slots + [slots[0]], width="40 mm", height="30 mm", ink=FILL)
    with pytest.raises(cf.ValidityError):
        calibration.Coupon([], width="40 mm", height="30 mm", ink=FILL)
    with pytest.raises(cf.FileError):
        calibration.read_coupon("nowhere.csv")
    with pytest.raises(cf.JobError):
        calibration.parse_coupon("this is no table")


def test_duration_is_the_lines_and_more(coupon, job):
    seconds = coupon.duration(job)
    # At least the time in which the beam runs over the fills: area over spacing and speed.
    assert seconds > 3 * 16e-6 / 1e-4 / (2.5 / 60) and seconds < 600
    assert coupon.duration(cf.prepare(job)) == seconds


def test_a_report_is_of_its_coupon(coupon, tmp_path):
    report = calibration.Report([calibration.Result(7, width="82 um"), calibration.Result(1, outcome="marked", remark="edge"),
                                 calibration.Result(2)], coupon=coupon, date="2026-05-02", width_error="4 %")
    assert [result.number for result in report.results] == [1, 7] and len(report) == 2  # in the coupon's order; nothing told is left out
    assert report.results[1].width == pytest.approx(82e-6) and report.results[1].outcome is None
    assert (report.results[0].outcome, report.results[0].width, report.width_error) == ("marked", None, 0.04)
    filled = calibration.filled_table(coupon, report)
    (tmp_path / "coupon.csv").write_text(filled)
    for back in (calibration.read_report(tmp_path / "coupon.csv", coupon), calibration.parse_report_csv(filled, "filled", coupon)):
        assert [(r.number, r.outcome, r.remark) for r in back.results] == [(r.number, r.outcome, r.remark) for r in report.results]
        assert back.results[1].width == pytest.approx(82e-6) and back.date == "2026-05-02"
    toml = '[[patch]]\nnumber = 1\noutcome = "over-burned"\n'
    assert calibration.parse_report_toml(toml, "t", coupon).results[0].outcome == "over-burned"
    assert calibration.Result(1, outcome=3).outcome == "over-burned"


@pytest.mark.parametrize("results, why", [
    ([dict(number=3, outcome="marked")], "3"), ([dict(number=1, width="82 um")], "width|line"),
    ([dict(number=1, outcome="marked"), dict(number=1, outcome="marked")], "twice"), ([], "")])
def test_reports_that_do_not_fit_are_refused(coupon, results, why):
    with pytest.raises(cf.JobError, match=why):
        calibration.Report([calibration.Result(**one) for one in results], coupon=coupon)


def test_other_things_are_named_for_what_they_are(coupon):
    with pytest.raises(TypeError, match="coupon: expected a Coupon, not str"):
        calibration.Report([], coupon="coupon.csv")
    with pytest.raises(TypeError, match="expected a Result"):
        calibration.Report(["marked"], coupon=coupon)
    with pytest.raises(TypeError, match="remark: expected text"):
        calibration.Result(1, remark=3)
    with pytest.raises(TypeError, match="four lengths"):
        calibration.Slot(1, FILL, 4.0)
    told = calibration.Report([dict(number=1, outcome="marked")], coupon=coupon)  # keywords do as well
    assert told.results[0].outcome == "marked"


def test_outcomes_have_names():
    with pytest.raises(ValueError, match='"untouched", "under-marked", "marked" or "over-burned"'):
        calibration.Result(1, outcome="burnt")
    with pytest.raises(ValueError):
        calibration.Result(1, outcome=4)


def test_contradictions_are_named(coupon):
    results = [calibration.Result(1, outcome="untouched"), calibration.Result(2, outcome="untouched")]
    assert calibration.doubts(coupon, calibration.Report(results, coupon=coupon))


def test_measured_lines_go_into_the_regression(coupon):
    lines = [calibration.Slot(i, dict(power=power, speed=0.04, spacing=0), (f"{3 + 5 * i} mm", "20 mm", "3 mm", "3 mm"))
             for i, power in enumerate((0.5, 1, 2, 4), 1)]
    ladder = calibration.Coupon(lines, width="40 mm", height="30 mm", ink=FILL, letters=0)
    widths = 40e-6 * np.sqrt(2 * np.log(np.array([0.5, 1, 2, 4]) / 0.04 / 5))
    report = calibration.Report([calibration.Result(i, width=width) for i, width in enumerate(widths, 1)], coupon=ladder)
    found = calibration.line_widths(ladder, report)
    assert list(found["number"]) == [1, 2, 3, 4] and found["energy"] == pytest.approx([12.5, 25, 50, 100])
    assert calibration.squared_width(found["energy"], found["width"]).radius.value == pytest.approx(40e-6, rel=1e-6)
    none = calibration.line_widths(coupon, calibration.Report([calibration.Result(1, outcome="marked")], coupon=coupon))
    assert len(none["energy"]) == 0


def test_pictures_art_and_path(coupon, job, tmp_path):
    calibration.write_picture(tmp_path / "coupon.png", coupon, chances=[[0, 0.1, 0.8, 0.1]] * 3)
    calibration.write_art(tmp_path / "art.png", coupon, pixel="50 um")
    for name in ("coupon.png", "art.png"):
        assert (tmp_path / name).read_bytes().startswith(b"\x89PNG")
    burnt = job.replace({"path.full_power_word": 1000})
    words = calibration.path_text(coupon, burnt)
    assert re.search(r"\bG21\b", words) and "M5" in words and re.search(r"F2500\b", words)
    calibration.write_path(tmp_path / "coupon.nc", coupon, burnt)
    assert (tmp_path / "coupon.nc").read_text() == words
    with pytest.raises(cf.FileError):
        calibration.write_picture(tmp_path / "no" / "coupon.png", coupon)
