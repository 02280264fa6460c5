"""Truth: pictures drawn here from known outcomes, in the records' colours; tests/calibration has worse ones."""
import numpy as np
import pytest

import circumfluence as cf
from circumfluence import calibration

PIXEL = 1e-4  # m
OUTCOMES = {1: "untouched", 2: "marked", 3: "over-burned", 4: "marked"}


@pytest.fixture()
def coupon():
    fill = dict(power="5 W", speed="2500 mm/min", spacing="0.08 mm")
    slots = [calibration.Slot(i, fill, (f"{10 * i - 4} mm", "12 mm", "6 mm", "6 mm")) for i in OUTCOMES]
    return calibration.Coupon(slots, width="46 mm", height="30 mm", ink=fill, letters=0)


def drawn(coupon, looks):
    """The coupon from above with 5 mm around it, uint8 [height][width][3]."""
    border = 50
    picture = np.full((round(coupon.height / PIXEL) + 2 * border, round(coupon.width / PIXEL) + 2 * border, 3), looks.ground, np.uint8)

    def fill(x, y, width, height, colour):
        left, low = border + round(x / PIXEL), border + round(y / PIXEL)
        picture[::-1][low:low + round(height / PIXEL), left:left + round(width / PIXEL)] = colour

    for which in range(4):
        mark = coupon.corner_mark(which)
        fill(mark.x, mark.y, mark.width, mark.height, looks.marked)
    third = coupon.corner / 3
    fill(third, third, third, third, looks.ground)
    colours = {"untouched": looks.ground, "marked": looks.marked, "over-burned": looks.over_burned}
    for slot in coupon.slots:
        fill(slot.place.x, slot.place.y, slot.place.width, slot.place.height, colours[OUTCOMES[slot.number]])
    return picture


def test_a_clear_picture_is_read(job, coupon, tmp_path):
    looks = calibration.Looks(job)
    assert looks.ground != looks.marked and len(looks.over_burned) == 3
    picture = drawn(coupon, looks)
    noisy = np.clip(picture + np.random.default_rng(1).normal(0, 2, picture.shape), 0, 255).astype(np.uint8)
    reading = calibration.read_coupon_photo(noisy, coupon, job)
    sure = {p.number: p.outcome for p in reading.patches if p.sure >= 0.8}
    # A black coat half gone is as grey as bare metal burnt: at this scale no lines are seen, so that one may stay open.
    assert sure.items() <= OUTCOMES.items() and {1, 2, 4} <= sure.keys() and reading.patches[2].outcome == "over-burned"
    assert reading.scale == pytest.approx(PIXEL, rel=0.02) and len(reading.corners) == 4
    assert reading.corners[0] == pytest.approx([50, 350], abs=1)  # lower left, row 0 at the top
    report = reading.report()
    assert {r.number: r.outcome for r in report.results} == sure
    assert reading.straightened.pixels.shape == (reading.straightened.height, reading.straightened.width, 3)
    calibration.write_reading(tmp_path / "reading.png", coupon, reading)
    assert (tmp_path / "reading.png").read_bytes().startswith(b"\x89PNG")
    assert "4 patches" in repr(reading) and all(p.width is None for p in reading.patches)


def test_pictures_come_as_files_and_arrays(coupon, job, tmp_path):
    calibration.write_art(tmp_path / "art.png", coupon)
    photo = calibration.read_photo(tmp_path / "art.png")
    assert photo.pixels.shape == (photo.height, photo.width, 3) and not photo.pixels.flags.writeable
    again = calibration.Photo(photo.pixels, name="again")
    assert np.array_equal(again.pixels, photo.pixels) and "again" in repr(again)
    with pytest.raises(ValueError, match="uint8"):
        calibration.Photo(np.zeros((4, 4, 3)))
    with pytest.raises(ValueError, match="uint8"):
        calibration.Photo(np.zeros((4, 4), np.uint8))
    with pytest.raises(cf.FileError):
        calibration.read_coupon_photo(tmp_path / "nowhere.jpg", coupon, job)


@pytest.mark.parametrize("picture", [np.full((300, 400, 3), 128, np.uint8), np.zeros((0, 0, 3), np.uint8),
                                     np.random.default_rng(2).integers(0, 255, (200, 300, 3), np.uint8)])
def test_what_is_no_coupon_is_refused(picture, coupon, job):
    with pytest.raises((cf.JobError, cf.ValidityError)):
        calibration.read_coupon_photo(picture, coupon, job)
