"""Predictions from Python: maps without copies, labelled arrays, pictures, files, interrupts."""
import gc
import json
import os
import signal
import subprocess
import sys
import textwrap
import time

import numpy as np
import pytest
from conftest import moments_meanwhile
from mark_file_checks import check_mark_file

import circumfluence as cf

LAYERS = ["fluence", "changed", "peak_temperature", "margin", "outcome", "wanted"]


def test_maps_are_views_that_outlive_the_prediction(job):
    mark = cf.predict(job)
    fluence, again = mark.fluence, mark.fluence
    assert fluence.__array_interface__["data"] == again.__array_interface__["data"]
    assert not fluence.flags.writeable and not fluence.flags.owndata
    total = float(fluence.sum())
    del mark, again
    gc.collect()
    _ = np.ones(10_000_000)  # something to overwrite freed memory with
    assert float(fluence.sum()) == total


def test_axes_and_maps_left_out(job, tmp_path):
    mark = cf.predict(job)
    assert mark.fluence.shape == (len(mark.around), len(mark.axial)) == mark.surface.shape
    assert np.allclose(mark.angle, mark.around / mark.surface.reference_radius) and np.allclose(mark.radius, 0.0365)
    bare = cf.predict(job, file=tmp_path / "a.mark.h5", keep=False)
    assert bare.fluence.size == 0 and bare.verdict.to_dict() == mark.verdict.to_dict()
    assert np.array_equal(cf.open_mark(tmp_path / "a.mark.h5")["outcome"], mark.outcome)


def test_verdict_says_what_the_maps_hold(job):
    mark = cf.predict(job)
    wanted = mark.wanted.astype(bool)
    assert mark.verdict.wanted["marked"] == pytest.approx((mark.outcome[wanted] == 2).mean())
    assert mark.verdict.ruling == "marks" and "marks" in repr(mark.verdict) and "caution" in str(mark.verdict)
    assert mark.verdict.to_dict()["verdict"] == "marks"
    assert mark.verdict.hottest == pytest.approx(mark.peak_temperature.max())


def test_file_and_maps_are_the_same_bit_for_bit(job, tmp_path):
    for compact in (False, True):
        mark = cf.predict(job, file=tmp_path / "a.mark.h5", compact=compact)
        back = cf.open_mark(tmp_path / "a.mark.h5")
        for layer in LAYERS:
            assert np.array_equal(back[layer], getattr(mark, layer)), layer
        assert cf.parse_job(back.job_text, job.folder) == job
        assert back.summary["ruling"] == "marks"
        check_mark_file(str(tmp_path / "a.mark.h5"))
    with pytest.raises(KeyError):
        back["no such map"]


def test_labelled_arrays_agree_with_the_file(job, tmp_path):
    xarray = pytest.importorskip("xarray")
    ours = cf.predict(job, file=tmp_path / "a.mark.h5").to_xarray()
    for engine in ("h5netcdf", "netcdf4"):
        with xarray.open_dataset(tmp_path / "a.mark.h5", engine=engine) as theirs:
            for layer in LAYERS:
                assert theirs[layer].dims == ("around", "axial")
                assert np.array_equal(theirs[layer], ours[layer], equal_nan=True)
            assert np.allclose(theirs.around, ours.around) and theirs.around.attrs["units"] == "m"
            assert np.allclose(theirs.angle, ours.angle)
    xarray.testing.assert_allclose(cf.to_xarray(cf.open_mark(tmp_path / "a.mark.h5")), ours, rtol=1e-12)


def test_pictures(job, tmp_path):
    mark = cf.predict(job)
    outcome, view = mark.picture("outcome"), mark.picture("view")
    assert outcome.shape == view.shape and outcome.shape[2] == 3 and outcome.dtype == np.uint8
    # The mark is bare aluminium in black powder coat: the view is bright where a mark is wanted. Around grows upward.
    wanted = mark.wanted[::-1].astype(bool)
    assert view[wanted].mean() > 150 > 60 > view[~wanted].mean()
    mark.write_picture(str(tmp_path / "p.png"))
    assert (tmp_path / "p.png").read_bytes()[:4] == b"\x89PNG"
    with pytest.raises(ValueError, match="outcome"):
        mark.picture("sideways")


def test_plot_draws_every_layer(job):
    pytest.importorskip("matplotlib").use("Agg")
    mark = cf.predict(job)
    for layer in LAYERS + ["view"]:
        axes = mark.plot(layer)
        assert axes.get_xlabel() == "along the axis [mm]"
        axes.figure.clear()


def test_threads_do_not_change_a_bit(job):
    one, two = cf.predict(job, threads=1), cf.predict(job, threads=2)
    for layer in LAYERS:
        assert np.array_equal(getattr(one, layer), getattr(two, layer))


def test_the_interpreter_runs_on_meanwhile(job):
    big = job.replace(cell="4 um")
    assert moments_meanwhile(lambda: cf.predict(big)) >= 3


def test_progress_rises_to_one_and_can_stop(job, tmp_path):
    shares = []
    cf.predict(job.replace(cell="10 um"), progress=shares.append)
    assert shares == sorted(shares) and shares[-1] == 1
    with pytest.raises(cf.Interrupted):
        cf.predict(job, file=tmp_path / "a.mark.h5", progress=lambda share: False)
    assert not any(p.name.startswith("a.mark") or ".tmp" in p.name for p in tmp_path.iterdir())

    def fails(share):
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        cf.predict(job, progress=fails)


def test_control_c_stops_and_leaves_nothing(job, tmp_path):
    out = tmp_path / "out"
    out.mkdir()
    program = textwrap.dedent(f"""
        import circumfluence as cf
        job = cf.read_job({str(tmp_path / 'small.toml')!r}).replace(cell="2 um", margin="5 mm")
        def started(share):
            if share == 0:
                print("started", flush=True)
        cf.predict(job, file={str(out / 'a.mark.h5')!r}, progress=started)
    """)
    process = subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert process.stdout.readline() == "started\n"
    time.sleep(0.05)
    process.send_signal(signal.SIGINT)
    asked = time.perf_counter()
    errors = process.communicate(timeout=30)[1]
    assert "KeyboardInterrupt" in errors
    assert time.perf_counter() - asked < 2  # the walk itself stops within 0.2 s; the interpreter's exit is in here
    assert os.listdir(out) == []


def test_errors_are_of_their_kinds(job, tmp_path):
    with pytest.raises(cf.FileError, match="nowhere"):
        cf.predict(job, file=tmp_path / "nowhere" / "a.h5")
    with pytest.raises(cf.ValidityError, match="520 nm"):
        cf.predict(job.replace(wavelength="520 nm"))
    (tmp_path / "bad.h5").write_text("not a file of record")
    with pytest.raises(cf.FileError, match="bad.h5"):
        cf.open_mark(tmp_path / "bad.h5")
    assert json.loads(json.dumps(cf.predict(job).verdict.to_dict()))
