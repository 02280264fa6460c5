"""Truth: heights and widths by hand; fed art predicted comes out as it was meant; the program writes the same."""
import json
import math
import pathlib
import subprocess

import numpy as np
import pytest

import circumfluence as cf

STATED = {"rotary.drive": "rollers", "rotary.motor_steps": 200, "rotary.microsteps": 16, "rotary.reduction": 2.5,
          "rotary.roller_diameter": "30 mm", "rotary.roller_gap": "20 mm", "rotary.axle_height": "25 mm",
          "rotary.set_steps": "84.883 1/mm", "rotary.flat_steps": "80 1/mm", "laser.focus_distance": "50 mm",
          "mount.head_height": "110 mm", "mount.mouth": "end", "mount.mouth_faces": "right", "mount.axial_feed": "right",
          "mount.around_feed": "back"}


@pytest.fixture()
def stated(job):
    return job.replace(STATED)


@pytest.fixture()
def tumbler(job):
    """A steep taper, its art a square of 6 mm on its own surface."""
    return job.replace({"workpiece.shape": "tapered", "workpiece.diameter": "40 mm", "workpiece.end_diameter": "60 mm",
                        "workpiece.length": "60 mm", "artwork.axial": "20 mm", "artwork.size_axial": "8 mm",
                        "mount.drive_diameter": "60 mm", "grid.cell": "40 um"})


def test_the_sheet_adds_up(stated):
    sheet = cf.set_up(stated)
    axis = 0.025 + math.sqrt(0.0515**2 - 0.025**2)
    assert sheet.raise_by == pytest.approx(axis + 0.0365 + 0.050 - 0.110)
    figures = sheet.to_dict()
    assert figures["height"]["raise"] == pytest.approx(sheet.raise_by) and not sheet.lacking
    assert sheet.duration == pytest.approx(cf.plan(cf.prepare(stated)).duration)
    assert sheet.checks and sheet.cautions and str(sheet) == sheet.text() and "<SetUp on" in repr(sheet)
    assert sheet.bands[0].scale_around == pytest.approx(1, abs=1e-5) and not sheet.landing.mirrored
    assert sheet.trial is not None and sheet.trial["workpiece.base"] != stated["workpiece.base"]
    assert cf.set_up(cf.prepare(stated)).text() == sheet.text()


def test_what_the_job_does_not_state(job):
    sheet = cf.set_up(job)
    assert math.isnan(sheet.raise_by) and sheet.to_dict()["height"]["raise"] is None
    assert "rotary.axle_height" in [key for key, _ in sheet.lacking] and all(gives for _, gives in sheet.lacking)
    with pytest.raises(cf.ValidityError, match="tube_wall"):
        cf.set_up(job, tube_wall=0.0)


def test_pages(stated, tmp_path):
    sheet = cf.set_up(stated)
    sheet.save(tmp_path / "sheet.html")
    page = (tmp_path / "sheet.html").read_text()
    assert page == sheet.html() and page.startswith("<!DOCTYPE html>")
    shown = sheet._repr_html_()
    assert shown.startswith("<iframe") and "&lt;!DOCTYPE html&gt;" in shown and "<style" not in shown
    with pytest.raises(cf.FileError):
        sheet.save("/nowhere/sheet.html")


def test_the_program_writes_the_same_sheet(build, stated, folder):
    (folder / "stated.toml").write_text(stated.text)
    command = [build / "bin/circumfluence", "sheet", folder / "stated.toml", "--folder", folder, "--json"]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout) == cf.set_up(cf.read_job(folder / "stated.toml")).to_dict()


def test_fed_art_lands_as_meant(tumbler, tmp_path):
    art = cf.pre_distort(tumbler)
    art.save(tmp_path / "fed.png")
    assert np.abs(cf.read_image(tmp_path / "fed.png").tone - art.image.astype(int)).max() <= 128  # 8 bits of 16
    fed = cf.fed_job(art, tmp_path / "fed.png")
    mark = cf.predict(fed, warming=False)
    # The bar is 6 mm long and 1 mm wide on the surface: its width is an arc at the local radius.
    slant = math.hypot(1, 10 / 60)
    wanted = mark.wanted > 0
    columns = np.flatnonzero(wanted[:, :].any(axis=0))
    bar = wanted[np.flatnonzero(mark.around > 0.0005)]  # above the square
    lengths = mark.axial[np.flatnonzero(bar.any(axis=0))]
    assert (lengths[-1] - lengths[0]) * slant == pytest.approx(6e-3, abs=0.15e-3)
    for column in columns[[20, -20]]:
        rows = np.flatnonzero(bar[:, column])
        arc = np.ptp(mark.angle[np.flatnonzero(mark.around > 0.0005)][rows]) * mark.radius[column]
        assert arc == pytest.approx(1e-3, abs=0.12e-3)


def test_what_is_said_of_fed_art(tumbler):
    art = cf.pre_distort(tumbler, pixel="0.05 mm")
    extent = art.extent
    assert art.image.dtype == np.uint16 and not art.image.flags.writeable
    assert art.image.shape == (round((extent["around_to"] - extent["around_from"]) / art.pixel),
                               round((extent["axial_to"] - extent["axial_from"]) / art.pixel))
    (band,) = art.bands
    assert band.around_from > band.around_to > 1 and "band" in art.words and art.words == str(art) and art.burns == "dark"
    fan = cf.pre_distort(cf.prepare(tumbler), truth="developed", pixel="0.05 mm")
    assert "arc" in fan.words and not np.array_equal(fan.image, art.image)
    mirrored = cf.pre_distort(tumbler, pixel="0.05 mm", mirror="axial")
    assert np.array_equal(mirrored.image, art.image[:, ::-1]) and "mirrored along" in mirrored.words


def test_a_view_outlives_its_art(tumbler):
    image = cf.pre_distort(tumbler, pixel="0.1 mm").image
    assert image.min() == 0 and image.max() == 65535


def test_the_program_feeds_the_same(build, tumbler, folder):
    (folder / "tumbler.toml").write_text(tumbler.text)
    command = [build / "bin/circumfluence", "art", folder / "tumbler.toml", "--folder", folder, "--no-pictures"]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    art = cf.pre_distort(tumbler)
    assert done.stdout.startswith(art.words)
    assert np.abs(cf.read_image(folder / "tumbler.fed.png").tone - art.image.astype(int)).max() <= 128
    theirs = cf.read_job(folder / "tumbler.fed.toml")
    assert theirs == cf.fed_job(art, pathlib.Path("tumbler.fed.png"))


def test_bad_input(tumbler, tmp_path):
    with pytest.raises(ValueError, match='truth = \'flat\' .expected "level" or "developed"'):
        cf.pre_distort(tumbler, truth="flat")
    with pytest.raises(cf.JobError, match="pixel"):
        cf.pre_distort(tumbler, pixel="200 mm")
    with pytest.raises(TypeError, match="'pixels'"):
        cf.pre_distort(tumbler, pixels=3)
    with pytest.raises(cf.FileError):
        cf.pre_distort(tumbler, pixel="0.1 mm").save(tmp_path / "none" / "fed.png")


def test_blanks_for_a_race(build, job, folder):
    some = cf.batch(job, parts=40)
    assert some.chance_good == pytest.approx(cf.chances(job).chance_good)

    def enough(blanks):
        p = some.chance_good
        return sum(math.comb(blanks, k) * p**k * (1 - p)**(blanks - k) for k in range(40, blanks + 1))

    assert enough(some.blanks) >= 0.95 > enough(some.blanks - 1) and some.spares == some.blanks - 40
    assert some.tries == pytest.approx(40 / some.chance_good) and some.time == pytest.approx(some.tries * some.duration)
    given = cf.batch(job, parts=40, chance_good="90 %", handling="60 s", mains_power="200 W", confidence="99 %")
    assert given.time == pytest.approx(given.tries * (given.duration + 60)) and given.confidence == 0.99
    assert given.mains_energy == pytest.approx(200 * given.time) and 0 < given.beam_on < given.duration
    command = [build / "bin/circumfluence", "batch", folder / "small.toml", "--parts", "40", "--good", "90 %", "--handling", "60 s",
               "--mains", "200 W", "--confidence", "99 %", "--json"]
    said = json.loads(subprocess.run(command, capture_output=True, text=True).stdout)
    assert said["blanks"] == given.blanks and said["time"] == pytest.approx(given.time) and said["energy"] == pytest.approx(given.energy)
    assert "to spare" in repr(given)
    with pytest.raises(cf.ValidityError, match="batch.confidence"):
        cf.batch(job, parts=40, chance_good="90 %", confidence="100 %")
    with pytest.raises(TypeError, match="'parts'"):
        cf.batch(job)
