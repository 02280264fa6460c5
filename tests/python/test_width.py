"""How wide art may be on a standing part: closed forms from Python, arrays, errors."""
import json
import math
import subprocess

import numpy as np
import pytest

import circumfluence as cf


@pytest.fixture()
def rod(job):
    """The small job on 40 mm, its focus depth 4 mm: zR is 2 mm both ways."""
    return job.replace(diameter="40 mm", power="100 %", speed="1200 mm/min", spacing="0.05 mm")


def test_widths_are_those_of_the_circle(rod):
    found = cf.usable_width(rod, growth=1.1, stretch=100, chance=0)
    fall = 2e-3 * math.sqrt(1.1**2 - 1)
    assert found.set.width == pytest.approx(2 * math.sqrt(2 * 0.02 * fall - fall**2), rel=1e-9)
    assert found.set.limit == found.best.limit == "growth" and not found.asked_chance
    assert found.best.focus_offset == pytest.approx(-fall, abs=1e-6)
    assert 1.38 < found.best.width / found.set.width < math.sqrt(2)
    assert cf.usable_width(rod, growth=2, chance=0).best.limit == "stretch"


def test_advice_taken_is_what_was_promised(rod):
    found = cf.usable_width(rod)
    again = cf.usable_width(rod.replace(focus_offset=cf.format(found.best.focus_offset, "mm")))
    assert again.set.width == pytest.approx(found.best.width, rel=1e-9)


def test_table(rod):
    found = cf.usable_width(rod, rows=101)
    table = found.table
    assert all(column.shape == (101,) and not column.flags.writeable for column in table.values())
    assert np.allclose(table["lateral"], 0.02 * np.sin(table["arc"] / 0.02), atol=1e-15)
    assert table["lateral"][-1] == pytest.approx(found.best.width / 2)
    assert np.allclose(table["stretch"] * table["incidence"], 1)
    assert np.allclose(table["drop"], [cf.sagitta(0.02, y) for y in table["lateral"]])
    height = -table["drop"] - found.best.focus_offset
    assert np.allclose(table["growth_around"], np.hypot(1, height / 2e-3))
    assert np.allclose(np.gradient(table["arc"], table["lateral"])[1:-1], table["stretch"][1:-1], rtol=1e-3)


def test_indexed_strips(rod):
    turn = math.pi * 0.04
    found = cf.usable_width(rod, motif=turn, overlap="0.2 mm")
    assert found.closed and found.turns * found.index == pytest.approx(2 * math.pi)
    assert found.strip <= 2 * found.table["arc"][-1] * (1 + 1e-9)
    half = found.index / 2
    assert found.joint["plain"] == pytest.approx(0.02 * (2 * half - 2 * math.asin(half)))
    exact = cf.usable_width(rod, motif=turn, diameter_error=0, axis_offset=0, index_error="0 deg").joint
    assert exact["diameter"] == pytest.approx(0, abs=1e-15) and exact["offset"] == pytest.approx(0, abs=1e-15)
    assert exact["index"] == 0
    assert cf.usable_width(rod, motif="2 mm").turns == 1
    assert cf.usable_width(rod, motif=None).motif == pytest.approx(0.006)


def test_stations_of_a_taper(rod):
    taper = rod.replace({"workpiece.shape": "tapered", "workpiece.end_diameter": "36 mm"})
    found = cf.usable_width(taper, growth=1.5, chance=0)
    stations = found.best.stations
    assert stations["half_width"].min() * 2 == pytest.approx(found.best.width)
    assert stations["half_width"].argmin() == found.best.narrowest
    assert np.all(np.diff(stations["radius"]) < 0) and np.allclose(stations["slope"], -2 / 180)
    assert np.all(np.isinf(stations["chance"]))


def test_nothing_is_said_in_words(rod):
    found = cf.usable_width(rod.replace(focus_offset="2 mm"))
    assert found.set.width == 0 and "below the nominal focus" in found.set.why and found.best.why == ""
    assert found.best.width > 0 and "standing still" in found.notes[0]
    assert "strip" in repr(found) and "growth" in repr(found.set)
    assert cf.usable_width(rod, growth=1).table["arc"].size == 0


def test_bad_input(rod):
    with pytest.raises(cf.ValidityError, match="growth = 0.9"):
        cf.usable_width(rod, growth=0.9)
    with pytest.raises(cf.ValidityError, match="chance"):
        cf.usable_width(rod, chance="120 %")
    with pytest.raises(cf.JobError, match="more than once around"):
        cf.usable_width(rod, motif="130 mm")
    with pytest.raises(cf.JobError, match="overlap"):
        cf.usable_width(rod, motif="100 mm", overlap=-1e-4)
    with pytest.raises(cf.JobError, match="a length"):
        cf.usable_width(rod, motif="3 W")
    with pytest.raises(TypeError, match="'widht'"):
        cf.usable_width(rod, widht=3)


def program(build, folder, *options):
    command = [build / "bin/circumfluence", "width", folder / "small.toml", *options]
    return subprocess.run(command, capture_output=True, text=True)


def test_the_program_says_the_same(build, job, folder):
    ours = cf.usable_width(job, motif="120 mm", overlap="0.1 mm")
    done = program(build, folder, "--motif", "120 mm", "--overlap", "0.1 mm", "--json")
    said = json.loads(done.stdout)
    assert done.returncode == 0 and done.stderr == ""
    assert said["best"]["width"] == pytest.approx(ours.best.width) and said["set"]["limit"] == ours.set.limit
    assert said["turns"] == ours.turns and said["joint"] == pytest.approx(ours.joint)
    assert said["best"]["stations"][0]["radius"] == pytest.approx(0.0365) and said["cautions"]
    words = program(build, folder, "--motif", "120 mm", "--chance", "0").stdout
    for part in ("as set", "ended by growth", "scan.focus_offset", "joints", "caution    Class 4"):
        assert part in words


def test_the_program_writes_the_table_whole_or_not_at_all(build, job, folder):
    done = program(build, folder, "--chance", "0", "--table", folder / "table.csv")
    assert done.returncode == 0 and "table.csv" in done.stdout
    rows = np.genfromtxt(folder / "table.csv", delimiter=",", skip_header=1)
    head = (folder / "table.csv").read_text().split("\n")[0].split(",")
    assert head[:2] == ["arc [mm]", "lateral [mm]"] and rows.shape == (41, len(head))
    assert np.allclose(rows[:, 0] * 1e-3, cf.usable_width(job, chance=0).table["arc"], atol=1e-9)
    assert program(build, folder, "--chance", "0", "--table", "/nowhere/table.csv").returncode == 4
    assert "none written" in program(build, folder, "--growth", "1", "--table", folder / "none.csv").stdout
    assert not (folder / "none.csv").exists()


# The demo's own settings come out good with a chance of three in four: not enough anywhere.
def test_settings_that_are_not_safe_leave_no_width(build, job, folder):
    found = cf.usable_width(job.replace(power="60 %"))
    assert found.asked_chance and found.best.width == 0 and "chance" in found.best.why
    words = program(build, folder, "--chance", "0.999").stdout
    assert "nothing: " in words and "curve      by growth and stretch alone" in words


def test_the_program_refuses(build, job, folder):
    assert program(build, folder, "--growth", "0.9").returncode == 2
    assert program(build, folder, "--chance", "1.5").returncode == 2
    bare = program(build, folder, "--motif", "12")
    assert bare.returncode == 3 and "--motif" in bare.stderr and "a length" in bare.stderr
    assert "more than once around" in program(build, folder, "--motif", "400 mm").stderr
