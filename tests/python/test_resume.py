"""Truth: the rest of a job burns what is left and no more; times and places are the raster's; the program says the same."""
import math
import subprocess

import numpy as np
import pytest

import circumfluence as cf


def test_by_the_clock(job):
    raster = cf.plan(cf.prepare(job))
    when = raster.start(25) + raster.sweep.time_at(6e-3)
    at = cf.restart(job, after=when)
    assert (at.line, at.of_pass) == (25, 0) and at.across == pytest.approx(raster.cross(25))
    assert at.elapsed == pytest.approx(raster.start(25)) and at.left == pytest.approx(raster.duration - raster.start(25))
    assert at.along == pytest.approx(raster.moment(when).along) and at.backward == raster.backward(25)
    assert at.repeated.overlap == pytest.approx(3e-3) and at.joined.overlap < 1e-3
    assert at.repeated.least == pytest.approx(at.repeated.least) and at.repeated.margin > 0 and at.repeated.ruling in at.words + " marks"
    assert str(at) == at.words and "Start again with line 26" in at.words and "25" in repr(at) and "burnt twice" in repr(at.repeated)
    assert cf.restart(cf.prepare(job), after=when).words == at.words
    vague = cf.restart(job, after=when, doubt="3 s")
    assert vague.lines_twice >= 2 and vague.line < 25


def test_by_what_is_seen(job):
    raster = cf.plan(cf.prepare(job))
    at = cf.restart(job, line=25)
    assert math.isnan(at.along) and at.joined is None and at.repeat
    assert cf.restart(job, across=raster.cross(25) + 0.03e-3).line == 25
    end = raster.along_to - 3e-3
    assert cf.restart(job, line=25, along=end).along == pytest.approx(end)
    two = job.replace(passes=2)
    with pytest.raises(cf.ValidityError, match="pass is missing"):
        cf.restart(two, line=25)
    assert cf.restart(two, line=25, of_pass=1).of_pass == 1


def test_the_rest_burns_what_is_left(job):
    at = cf.restart(job, line=30)
    (left,) = cf.rest(at)
    whole, rest = cf.predict(job, warming=False), cf.predict(left, warming=False)
    assert left["scan.first_line"] == "30" and rest.raster.duration == pytest.approx(at.left, abs=1)
    both = cf.rest(cf.restart(job.replace(passes=3), line=30, of_pass=0))
    assert [int(one["scan.passes"]) for one in both] == [1, 2] and both[1]["scan.first_line"] == "0"
    middle = at.across + 1e-3
    rows = [np.argmin(np.abs(mark.around - middle)) for mark in (whole, rest)]
    assert np.array_equal(whole.wanted[rows[0]].any(), rest.wanted[rows[1]].any())
    assert rest.around[0] == pytest.approx(at.across - 0.05e-3, abs=60e-6)
    with pytest.raises(cf.ValidityError, match="interleave"):
        cf.rest(cf.restart(job.replace(interleave=2), line=31))


def test_nothing_is_left(job):
    with pytest.raises(cf.ValidityError, match="nothing is left"):
        cf.restart(job, after="10000 s")
    for stop in ({}, {"after": "3 s", "line": 4}, {"line": 4000}, {"after": "-1 s"}):
        with pytest.raises(cf.ValidityError):
            cf.restart(job, **stop)
    with pytest.raises(TypeError, match="'byte'"):
        cf.restart(job, byte=17)
    with pytest.raises(TypeError, match="a Job or a prepared Scene"):
        cf.restart("job", line=3)


PATH = "G21 G90\nG0 X10 Y0\nM3 S500 F600\n" + "".join(f"G1 X{30 - 20 * (i % 2)} Y{0.1 * i:.1f}\n" for i in range(40)) + "M5\n"


@pytest.fixture()
def path_job(job, folder):
    (folder / "path.nc").write_text(PATH)
    sections = {name: job.section(name) for name in ("laser", "workpiece", "mount", "scan", "grid")}
    return cf.job(str(folder), **sections, machine={"axial_acceleration": "1000 mm/s^2", "around_acceleration": "1000 mm/s^2"},
                  path={"file": "path.nc", "axial": "50 mm", "full_power_word": 1000})


def test_a_tool_path_goes_on(path_job, folder):
    times = cf.travel_times(path_job)
    stopped = times.moves[20]
    when = float(stopped["start"] + stopped["duration"] / 2)
    at = cf.restart(path_job, after=when)
    assert at.line == stopped["line"] and at.lit_since == 4 and at.elapsed == pytest.approx(stopped["start"])
    assert at.axial == pytest.approx(0.07) and at.along == pytest.approx(stopped["length"] / 2, rel=0.01) and at.words == str(at)
    assert at.left == pytest.approx(times.duration - stopped["start"]) and at.since > at.along
    (left,) = cf.rest(at, folder / "rest.nc")
    ours = cf.read_path(left).moves
    lit = ours[ours["power"] > 0]
    whole = times.moves[20:]
    whole = whole[whole["power"] > 0]
    for field in ("axial_from", "axial_to", "around_to", "power", "speed"):
        assert lit[field] == pytest.approx(whole[field])
    assert cf.restart(path_job, line=int(stopped["line"])).line == stopped["line"]
    assert cf.restart(path_job, byte=int(stopped["offset"]) + 3).line == stopped["line"]
    assert len(cf.rest(cf.restart(cf.prepare(path_job), after=when), folder / "again.nc")) == 1
    assert (folder / "again.nc").read_text() == (folder / "rest.nc").read_text()


def test_a_tool_path_refuses(path_job, folder):
    with pytest.raises(cf.ValidityError, match="expected one of"):
        cf.restart(path_job)
    with pytest.raises(TypeError, match="'along'"):
        cf.restart(path_job, after="3 s", along="3 mm")
    with pytest.raises(cf.ValidityError, match="nothing is left"):
        cf.restart(path_job, after="10000 s")
    with pytest.raises(cf.Interrupted):
        cf.restart(path_job, after="3 s", progress=lambda share: False)
    with pytest.raises(TypeError):
        cf.rest(cf.restart(path_job, after="3 s"))
    with pytest.raises(cf.FileError):
        cf.rest(cf.restart(path_job, after="3 s"), "/nowhere/rest.nc")


# For persons it counts from 1.
def test_the_program_says_the_same(build, job, folder):
    command = [build / "bin/circumfluence", "resume", folder / "small.toml", "--line", "31", "--folder", folder]
    done = subprocess.run(command, capture_output=True, text=True)
    at = cf.restart(job, line=30)
    assert done.returncode == 0 and at.words in done.stdout, done.stderr
    assert cf.read_job(folder / "small.rest.toml") == cf.rest(at)[0]
