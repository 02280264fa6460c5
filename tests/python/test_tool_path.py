"""Truth: moves counted by hand in files written here; times by v^2/2a; the raster's own closed forms."""
import functools
import math
import os
import pathlib
import signal
import subprocess
import threading
import time

import numpy as np
import pytest

import circumfluence as cf
from conftest import moments_meanwhile

BADGE = pathlib.Path(__file__).resolve().parents[1] / "motion" / "paths" / "badge.nc"
PATH = """G21 G90 T1
G0 X10 Y0
M3 S500 F600
G1 X30
G2 X30 Y4 J2
G4 P0.5
M5
G0 X0 Y0
M2
"""


@pytest.fixture()
def path_job(job, folder):
    """A path of nine lines on the small job's part."""
    def of(text, **changes):
        (folder / "path.nc").write_text(text)
        sections = {name: job.section(name) for name in ("laser", "workpiece", "mount", "scan", "grid")}
        return cf.job(str(folder), **sections, machine={"axial_speed": "6000 mm/min", "around_speed": "6000 mm/min",
                      "axial_acceleration": "1000 mm/s^2", "around_acceleration": "1000 mm/s^2"},
                      path={"file": "path.nc", "axial": "50 mm", "full_power_word": 1000, **changes})
    return of


def test_the_moves_of_a_file(path_job):
    path = cf.read_path(path_job(PATH))
    moves = path.moves
    assert len(path) == len(moves) == 5 and path.complete and path.ended and path.beam_on == 0
    assert moves["kind"].tolist() == [0, 1, 1, 2, 0] and moves["line"].tolist() == [2, 4, 5, 6, 8]
    assert moves["power"].tolist() == [0, 0.5, 0.5, 0.5, 0] and moves["pause"][3] == 0.5
    assert moves["axial_to"][:2] == pytest.approx([0.06, 0.08]) and moves["around_to"][2] == pytest.approx(0.004)
    assert moves["length"] == pytest.approx([0.01, 0.02, math.pi * 2e-3, 0, math.hypot(30e-3, 4e-3)])
    assert moves["arc_angle"][2] == pytest.approx(-math.pi) or moves["arc_angle"][2] == pytest.approx(math.pi)
    assert moves["speed"][1] == pytest.approx(0.01) and path.ignored == {"T1": (1, 1)} and path.lines == 9
    assert not moves.flags.writeable and "start" not in moves.dtype.names and path.duration is None
    assert PATH[moves["offset"][1]:].startswith("G1 X30")


def test_pages(path_job):
    job = path_job("M3 S100 F600\n" + "".join(f"G1 X{i}\n" for i in range(1, 101)))
    whole = cf.read_path(job)
    page = cf.read_path(job, most=10, skip=40)
    assert len(whole) == 100 and whole.complete and whole.beam_on == 1
    assert len(page) == 10 and not page.complete and np.array_equal(page.moves, whole.moves[40:50]) and "more follow" in repr(page)
    assert cf.read_path(job, most=10, skip=90).complete and len(cf.read_path(job, skip=100)) == 0
    times = cf.travel_times(job, most=10, skip=40)
    assert times.duration == cf.travel_times(job).duration and np.array_equal(times.moves["start"], cf.travel_times(job).moves["start"][40:50])
    assert not times.complete and cf.travel_times(job, most=100).complete
    with pytest.raises(cf.ValidityError, match="most = -1"):
        cf.read_path(job, most=-1)


def test_times_are_those_of_ramps(path_job):
    job = path_job("M3 S100 F600\nG1 X20\nG4 P0.25\nG1 X0\n")
    path = cf.travel_times(job)
    v, a, way = 0.01, 1.0, 0.02
    one = way / v + v / a
    assert path.moves["duration"] == pytest.approx([one, 0.25, one]) and path.duration == pytest.approx(2 * one + 0.25)
    assert path.moves["start"] == pytest.approx([0, one, one + 0.25]) and path.moves["top"][0] == pytest.approx(v)
    assert path.moves["entry"][0] == 0 and path.moves["acceleration"][0] == pytest.approx(a)
    jerked = cf.travel_times(job.replace({"machine.jerk": "1000 mm/s^3"}))
    assert jerked.duration > path.duration


def test_pieces_of_arcs_stay_within_the_tolerance(path_job):
    path = cf.read_path(path_job(PATH))
    ends, of = path.pieces("0.01 mm")
    assert ends.shape == (len(of), 2, 3) and set(of.tolist()) == {0, 1, 2, 3, 4} or set(of.tolist()) == {0, 1, 2, 4}
    arc = ends[of == 2]
    middle = arc.mean(axis=1)[:, :2] - [0.08, 0.002]
    assert np.all(np.abs(np.hypot(*middle.T) - 2e-3) < 10e-6) and len(arc) > 10
    assert arc[0, 0, :2] == pytest.approx([0.08, 0]) and arc[-1, 1, :2] == pytest.approx([0.08, 0.004])
    assert len(path.pieces("1 mm")[0]) < len(ends)
    with pytest.raises(cf.ValidityError, match="tolerance"):
        path.pieces(0.0)


def test_a_view_keeps_its_path(path_job):
    moves = cf.read_path(path_job(PATH)).moves
    assert moves["line"].sum() == 25


def test_what_is_wrong_with_a_path(path_job):
    faults = cf.check_path(path_job("G1 F600 X10\nM3 S900 Y5\nG4 P1\nY4\nM5\nG0 Y0\nX-80\nM3 G1 X-90\nM5\n"))
    kinds = {fault.kind: fault for fault in faults}
    assert len(kinds) == 3 and sorted(fault.lines for fault in faults) == [[3], [4], [8]]
    standing = next(fault for fault in faults if fault.lines == [3])
    assert standing.worst == 1.0 and "1 s" in standing.words and str(standing) == standing.words and standing.count == 1
    assert any("beyond the ends" in fault.words and fault.worst == pytest.approx(0.04) for fault in faults)
    fill = "M5\n" + "".join(f"M5 G0 Y{0.2 * i:.1f} X{20 * (i % 2)}\nM3 S9 F600 G1 X{20 - 20 * (i % 2)}\n" for i in range(20)) + "M5\n"
    assert cf.check_path(path_job(fill), clear_width=0) == []
    (gaps,) = cf.check_path(path_job(fill), clear_width="0.1 mm")
    assert gaps.worst == pytest.approx(0.2e-3) and "<Finding" in repr(gaps)


def test_a_path_of_degrees(path_job):
    job = path_job("M3 S9 F600\nG1 A90\nM5\n", turn="a")
    assert cf.read_path(job).moves["around_to"][0] == pytest.approx(math.pi / 4 * 73e-3)
    assert cf.read_path(cf.prepare(job)).moves["around_to"][0] == pytest.approx(math.pi / 4 * 73e-3)


def test_a_path_that_another_program_wrote(path_job):
    path = cf.read_path(path_job(BADGE.read_text(), full_power_word=6000))
    moves = path.moves
    lit = moves[(moves["power"] > 0) & (moves["kind"] == 1)]
    assert np.ptp(np.concatenate([lit["axial_to"], lit["axial_from"]])) > 9e-3 and path.ignored


def test_pictures_of_paths(path_job):
    plt = pytest.importorskip("matplotlib.pyplot")
    for colour_by in ("power", "start"):
        path = cf.travel_times(path_job(PATH))
        axes = path.plot(colour_by=colour_by)
        low, high = axes.get_xlim()
        assert low < 60 and high > 80 and len(axes.collections) == 2
        plt.close(axes.figure)


def test_errors_have_their_place(job, path_job):
    with pytest.raises(cf.JobError) as caught:
        cf.read_path(path_job("G21\nG1 X1 F100\nG5 X3\n"))
    assert caught.value.line == 3 and caught.value.file.endswith("path.nc") and caught.value.column == 1
    for call in (cf.read_path, cf.travel_times, cf.check_path):
        with pytest.raises(cf.JobError, match="lines of its own"):
            call(job)
        with pytest.raises(TypeError, match="a Job or a prepared Scene"):
            call("path.nc")
    with pytest.raises(cf.FileError):
        cf.read_path(path_job(PATH).replace({"path.file": "none.nc"}))


@pytest.fixture()
def long_job(path_job):
    return path_job("M3 S100 F600\n" + "".join(f"G1 X{i % 50} Y{i * 0.001:.3f}\n" for i in range(1, 800_001)))


def test_long_paths_leave_the_interpreter_alone(long_job):
    for work in (lambda: cf.read_path(long_job, most=10**6), lambda: cf.travel_times(long_job, most=10),
                 lambda: cf.check_path(long_job, clear_width=0)):
        assert moments_meanwhile(work) >= 5


def test_long_paths_can_be_stopped(long_job):
    seen = []

    def stop(share):
        seen.append(share)
        return share < 0.2

    for call in (cf.read_path, cf.travel_times, functools.partial(cf.check_path, clear_width=0)):
        seen.clear()
        with pytest.raises(cf.Interrupted):
            call(long_job, progress=stop)
        assert seen == sorted(seen) and seen[-1] < 0.9
        timer = threading.Timer(0.05, os.kill, (os.getpid(), signal.SIGINT))
        timer.start()
        start = time.perf_counter()
        with pytest.raises(KeyboardInterrupt):
            while time.perf_counter() < start + 30:
                call(long_job)


def test_sweeps_with_a_jerk_and_moments_of_a_raster(job):
    ramp = cf.Sweep(run_up="5 mm", length="10 mm", speed="50 mm/s", acceleration="1000 mm/s^2", jerk="20000 mm/s^3")
    plain = cf.Sweep(run_up="5 mm", length="10 mm", speed="50 mm/s", acceleration="1000 mm/s^2")
    assert ramp.duration - plain.duration == pytest.approx(0.05)  # a / j at each end, half of it lost at each
    assert ramp.distance_at(ramp.time_at([1e-3, 9e-3])) == pytest.approx([1e-3, 9e-3])
    raster = cf.plan(cf.prepare(job))
    at = raster.moment(raster.start(7) + raster.sweep.time_at(5e-3))
    assert at.line == 7 and at.of_pass == 0 and at.left == pytest.approx(raster.duration - raster.start(7) - raster.sweep.time_at(5e-3))
    assert at.along == pytest.approx(raster.along_to + 3e-3 - 5e-3 if raster.backward(7) else raster.along_from - 3e-3 + 5e-3)
    later = cf.plan(cf.prepare(job.replace({"scan.first_line": 20})))
    assert later.first_line == 20 and later.lines == raster.lines - 20 and "Moment in line 7" in repr(at)


def test_the_program_takes_as_long(build, path_job, folder):
    job = path_job(PATH)
    (folder / "path.toml").write_text(job.text)
    done = subprocess.run([build / "bin/circumfluence", "time", folder / "path.toml"], capture_output=True, text=True)
    assert done.returncode == 0 and f"{round(cf.travel_times(job).duration)} s" in done.stdout, done.stdout + done.stderr


def test_the_program_finds_the_same(build, path_job, folder):
    job = path_job("G21 G90\nM3 S900 F300\n" + "".join(f"M5\nG0 X{20 * (i % 2)} Y{0.4 * i:.1f}\nM3\nG1 X{20 - 20 * (i % 2)}\n" for i in range(20)))
    (folder / "path.toml").write_text(job.text)
    done = subprocess.run([build / "bin/circumfluence", "check", folder / "path.toml"], capture_output=True, text=True)
    faults = cf.check_path(job)
    assert [fault.kind for fault in cf.check_path(cf.prepare(job))] == [fault.kind for fault in faults]
    assert cf.set_up(job).looks == [fault.words for fault in faults]
    assert len(faults) >= 2 and any("mm" in fault.words and fault.worst == pytest.approx(0.4e-3) for fault in faults)
    assert done.returncode == 0 and all(fault.words in done.stdout for fault in faults), done.stdout + done.stderr
