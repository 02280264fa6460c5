"""Sweeps on threads: the same as a loop, kept in a store, stopped and taken up again; and what is refused.

Truth is a plain loop over the same points, compared bit for bit.
"""
import functools
import json
import math
import os
import pathlib
import re
import signal
import subprocess
import sys
import textwrap
import threading
import time
from concurrent import futures

import numpy as np
import pytest

import circumfluence as cf
from circumfluence.sweep import VERDICT_UNITS
from circumfluence.sweep_points import Axis, Line, Table, _parse, flat

xarray = pytest.importorskip("xarray")
ROOT = pathlib.Path(__file__).resolve().parents[2]
POWERS, SPEEDS = ["20 %", "60 %", "100 %"], [0.02, 0.05]
CALLS = []


def light(job):
    """Areal energy density of the fill [J/m^2]: cheap, and different at each point."""
    CALLS.append(job["scan.power"])
    watts = cf.quantity(job["laser.rated_power"], "W") * cf.quantity(job["scan.power"], "%")
    return watts / cf.quantity(job["scan.speed"], "m/s") / cf.quantity(job["scan.spacing"], "m")


def scaled(job, factor):
    return {"scaled": factor * light(job)}


scaled.units = {"scaled": "J/m^2"}


def several(job):
    mark = cf.predict(job, threads=1)
    return {"ruling": mark.verdict.ruling, "hottest": mark.verdict.hottest, "worn": bool(mark.verdict.stripes), "lines": mark.verdict.lines,
            "fluence": mark.fluence, "outcome": mark.outcome, "words": np.array(["a", mark.verdict.ruling])}


several.units = {"hottest": "K", "fluence": "J/m^2"}


def fails_at_full_power(job):
    if job["scan.power"] == "100 %":
        raise cf.ValidityError("too bright")
    return light(job)


def same(one, other):
    return one.drop_vars("took").identical(other.drop_vars("took"))


def test_the_default_is_a_loop_over_verdicts(job):
    bases = ["al_6061", "aisi_304"]
    found = cf.sweep(job, {"scan.power": POWERS, "speed": SPEEDS, "base": bases}, threads=2)
    assert found["hottest"].dims == ("scan.power", "scan.speed", "workpiece.base")
    for i, power in enumerate(POWERS):
        for j, speed in enumerate(SPEEDS):
            for k, base in enumerate(bases):
                verdict = cf.predict(job.replace({"scan.power": power, "scan.speed": speed, "workpiece.base": base})).verdict
                here = found.isel({"scan.power": i, "scan.speed": j, "workpiece.base": k})
                assert here["ruling"].item() == verdict.ruling and here["notes"].item() == len(verdict.notes)
                assert {name: here["wanted_" + name].item() for name in verdict.wanted} == verdict.wanted
                for name in ("hottest", "least_factor", "greatest_factor", "chance_marks", "chance_spares", "duration", "power"):
                    assert here[name].item() == getattr(verdict, name), name
    assert found["done"].all() and not (found["error"] != "").any() and (found["took"] > 0).all()
    assert all(found[name].attrs["units"] == unit for name, unit in VERDICT_UNITS.items())
    assert cf.parse_job(found.attrs["job"], job.folder) == job


def test_axes_are_si_with_units(job):
    ranges = {"power": ["20 %", "40 %"], "speed": np.array([0.02, 0.04]), "temperature": ["20 degC"], "turn": [0.0, "90 deg"],
              "losses": [0.1], "interleave": np.array([1, 2]), "two_way": [True, False], "power_habit": ["constant", "follows_speed"],
              "pause": ["500 ms"], "acceleration": [1.0], "passes": range(1, 2)}
    found = cf.sweep(job, ranges, study=lambda job: 0.0)
    axes = {str(name): (found[name].values.tolist(), found[name].attrs.get("units")) for name in found.dims}
    assert axes["scan.power"] == ([0.2, 0.4], "1") and axes["scan.speed"] == ([0.02, 0.04], "m/s")
    assert axes["workpiece.temperature"] == ([293.15], "K") and axes["artwork.turn"] == ([0.0, math.pi / 2], "rad")
    assert axes["laser.losses"] == ([0.1], "1") and axes["scan.interleave"] == ([1, 2], "1")
    assert axes["scan.two_way"] == ([True, False], None) and axes["scan.power_habit"] == (["constant", "follows_speed"], None)
    assert axes["scan.pause"] == ([0.5], "s") and axes["scan.acceleration"] == ([1.0], "m/s^2") and axes["scan.passes"] == ([1], "1")
    assert cf.sweep(job, {"power": ["4 W", 6]}, study=light_of_watts)["scan.power"].attrs["units"] == "W"
    pulsed = job.replace({"laser.modulation": "pulsed", "laser.carrier": "20 kHz"})
    assert cf.sweep(pulsed, {"carrier": ["10 kHz"]}, study=light)["laser.carrier"].attrs["units"] == "Hz"


def light_of_watts(job):
    return cf.quantity(job["scan.power"], "W")


def test_texts_and_arrays_survive_the_store_bit_for_bit(job, tmp_path):
    found = cf.sweep(job, {"scan.power": POWERS}, study=several, store=tmp_path / "points.jsonl")
    assert found["fluence"].dtype == np.float32 and found["outcome"].dtype == np.float32
    assert found["fluence"].dims[1:] == ("fluence_0", "fluence_1")
    assert found["fluence"].attrs == {"units": "J/m^2"} and found["words"].values[0].tolist()[0] == "a"
    for i, power in enumerate(POWERS):
        mark = cf.predict(job.replace(power=power), threads=1)
        assert np.array_equal(found["fluence"][i], mark.fluence) and np.array_equal(found["outcome"][i], mark.outcome)
    assert cf.read_sweep(tmp_path / "points.jsonl").identical(found)
    assert cf.sweep(job, {"scan.power": POWERS}, study=several, store=tmp_path / "points.jsonl").identical(found)


def test_any_float_reads_back_as_it_was():
    hypothesis = pytest.importorskip("hypothesis")
    from hypothesis import strategies as st

    @hypothesis.given(st.floats(), st.text(), st.lists(st.floats(width=32), min_size=1))
    def check(number, text, numbers):
        figures = flat({"number": number, "text": text, "array": np.array(numbers, np.float32)}, "value")
        content = b'{"sweep": 1}\n' + Line("key", (1.5, "a"), 0.1, figures).text().encode() + b"\n"
        [back] = _parse("store", content)[1]
        assert back.at == (1.5, "a") and back.figures["text"] == text
        assert repr(back.figures["number"]) == repr(number) and back.figures["array"].tobytes() == figures["array"].tobytes()

    check()


def test_a_store_is_taken_up_where_it_stopped(job, tmp_path):
    store, whole = tmp_path / "points.jsonl", {"scan.power": POWERS, "scan.speed": SPEEDS}
    CALLS.clear()
    part = cf.sweep(job, {"scan.power": POWERS[:1], "scan.speed": SPEEDS}, study=light, store=store)
    assert len(CALLS) == 2
    shares = []
    found = cf.sweep(job, whole, study=light, store=store, progress=shares.append)
    assert len(CALLS) == 6 and shares == pytest.approx([2 / 6, 3 / 6, 4 / 6, 5 / 6, 1])
    assert found.isel({"scan.power": [0]}).identical(part)
    assert same(found, cf.sweep(job, whole, study=light)) and cf.read_sweep(store).identical(found)
    CALLS.clear()
    assert cf.sweep(job, whole, study=light, store=str(store)).identical(found) and not CALLS


def test_a_torn_line_is_overwritten(job, tmp_path):
    store, ranges = tmp_path / "points.jsonl", {"scan.power": POWERS}
    found = cf.sweep(job, ranges, study=light, store=store)
    content = store.read_bytes()
    last = content[:-1].rindex(b"\n") + 1
    for cut in [*range(last, len(content), 7), len(content) - 1]:
        store.write_bytes(content[:cut])
        assert int(cf.read_sweep(store)["done"].sum()) == 2
        CALLS.clear()
        assert same(cf.sweep(job, ranges, study=light, store=store), found)
        assert len(CALLS) == 1 and same(cf.read_sweep(store), found)
    store.write_bytes(content[:last] + b"\0" * 40 + b"\n")  # as some disks leave it when the power goes
    assert same(cf.sweep(job, ranges, study=light, store=store), found) and same(cf.read_sweep(store), found)
    store.write_bytes(content[:5])  # the very first line
    assert same(cf.sweep(job, ranges, study=light, store=store), found)
    store.write_bytes(content.replace(b'"took"', b'took', 1))
    with pytest.raises(cf.FileError, match=":2 "):
        cf.read_sweep(store)


def test_a_store_of_something_else_is_refused(job, folder, tmp_path):
    store, ranges = tmp_path / "points.jsonl", {"scan.power": POWERS}
    made = cf.sweep(job, ranges, study=functools.partial(scaled, factor=2), store=store)
    assert made["scaled"].attrs == {"units": "J/m^2"} and made.attrs["study"].endswith("test_sweep.scaled")
    before = store.read_bytes()
    study = functools.partial(scaled, factor=2)
    with pytest.raises(ValueError, match="the study .*scaled.* not of .*scaled"):
        cf.sweep(job, ranges, study=functools.partial(scaled, factor=3), store=store)
    with pytest.raises(ValueError, match="the study .*scaled.* not of .*light"):
        cf.sweep(job, ranges, study=light, store=store)
    with pytest.raises(ValueError, match='another job; here passes = 2 instead of passes = 1.*Name another store'):
        cf.sweep(job.replace(passes=2), ranges, study=study, store=store)
    with pytest.raises(ValueError, match="a sweep of scan.power, not of scan.speed"):
        cf.sweep(job, {"scan.speed": SPEEDS}, study=study, store=store)
    with pytest.raises(ValueError, match="scan.power in the unit '1', not 'W'"):
        cf.sweep(job, {"scan.power": [4.0]}, study=study, store=store)
    with pytest.raises(ValueError, match="lambdas"):
        cf.sweep(job, ranges, study=lambda job: 1.0, store=tmp_path / "other.jsonl")
    (folder / "art.png").write_bytes((folder / "art.png").read_bytes() + b"\0")
    with pytest.raises(ValueError, match="art.png has changed"):
        cf.sweep(job, ranges, study=study, store=store)
    with pytest.raises(cf.FileError, match="not the store of a sweep|not a line of"):
        cf.sweep(job, ranges, study=study, store=folder / "small.toml")
    assert store.read_bytes() == before and cf.read_job(folder / "small.toml") == job


def test_one_writer_at_a_time(job, tmp_path):
    store = tmp_path / "points.jsonl"

    def twice(share):
        with pytest.raises(cf.FileError, match="another sweep is writing"):
            cf.sweep(job, {"scan.power": POWERS}, study=light, store=store)

    cf.sweep(job, {"scan.power": POWERS[:1]}, study=light, store=store, progress=twice)
    assert cf.sweep(job, {"scan.power": POWERS}, study=light, store=store)["done"].all()


def test_errors_stay_with_their_points(job, tmp_path):
    store, ranges = tmp_path / "points.jsonl", {"scan.power": POWERS, "scan.speed": SPEEDS}
    with pytest.warns(UserWarning, match="2 of 6 points failed; .* scan.power = 100 %.*too bright"):
        found = cf.sweep(job, ranges, study=fails_at_full_power, store=store)
    assert found["done"].sum() == 4 and np.isnan(found["fails_at_full_power"][2]).all()
    assert (found["error"][2] == "ValidityError: too bright").all() and (found["error"][:2] == "").all()
    assert cf.read_sweep(store).identical(found)
    CALLS.clear()
    with pytest.warns(UserWarning):  # tried again, the others not
        assert same(cf.sweep(job, ranges, study=fails_at_full_power, store=store), found)
    assert not CALLS
    with pytest.raises(RuntimeError, match="failed at scan.power = 100 %, scan.speed = 0.0.*too bright") as caught:
        cf.sweep(job, ranges, study=fails_at_full_power, errors="raise", threads=1)
    assert isinstance(caught.value.__cause__, cf.ValidityError)


@pytest.mark.parametrize("stop, raised", [(KeyboardInterrupt, KeyboardInterrupt), (None, cf.Interrupted)])
def test_stopped_by_progress_and_taken_up_again(job, tmp_path, stop, raised):
    store, ranges = tmp_path / "points.jsonl", {"scan.power": POWERS, "scan.speed": SPEEDS}

    def enough(share):
        if share < 0.5:
            return True
        if stop:
            raise stop
        return False

    CALLS.clear()
    with pytest.raises(raised):
        cf.sweep(job, ranges, store=store, study=light, threads=1, progress=enough)
    kept = int(cf.read_sweep(store)["done"].sum())
    assert 3 <= kept <= len(CALLS)
    CALLS.clear()
    found = cf.sweep(job, ranges, store=store, study=light)
    assert len(CALLS) == 6 - kept and same(found, cf.sweep(job, ranges, study=light))


def test_ctrl_c_keeps_what_is_finished(job, folder, tmp_path):
    (tmp_path / "slow.py").write_text(textwrap.dedent(f"""
        import time
        import circumfluence as cf

        def slow(job):
            time.sleep(0.05)
            return cf.predict(job, threads=1).verdict.hottest

        def run():
            job = cf.read_job({str(folder / "small.toml")!r})
            return cf.sweep(job, {{"scan.power": [0.5 + 0.1 * i for i in range(60)]}}, study=slow, store="points.jsonl", threads=2)

        if __name__ == "__main__":
            import slow as named
            named.run()
    """))
    run = subprocess.Popen([sys.executable, "slow.py"], cwd=tmp_path, stderr=subprocess.PIPE, text=True)
    store, patience = tmp_path / "points.jsonl", time.monotonic() + 20
    while time.monotonic() < patience and (not store.exists() or store.read_bytes().count(b"\n") < 6):
        time.sleep(0.02)
    os.kill(run.pid, signal.SIGINT)
    assert "KeyboardInterrupt" in run.communicate(timeout=20)[1]
    assert run.returncode == -signal.SIGINT
    part = cf.read_sweep(store)
    assert 5 <= part["done"].sum() < 60
    again = subprocess.run([sys.executable, "-c", "import slow; print(int(slow.run().done.sum()))"], cwd=tmp_path, capture_output=True,
                           text=True, check=True)
    whole = cf.read_sweep(store)
    assert again.stdout.strip() == "60" and whole["done"].all() and not again.stderr
    assert store.read_bytes().count(b"\n") == 61  # no point twice
    assert (whole["took"] == part["took"])[part["done"].values].all()
    for power in whole["scan.power"].values[::17]:
        assert whole["slow"].sel({"scan.power": power}) == cf.predict(job.replace(power=float(power))).verdict.hottest


def test_few_points_are_under_way_at_a_time(job):
    class Counting(futures.ThreadPoolExecutor):
        under_way = most = 0

        def submit(self, *arguments):
            future = super().submit(*arguments)
            self.under_way += 1
            self.most = max(self.most, self.under_way)
            return future

    with Counting(2) as pool:
        def landed(share):
            pool.under_way -= 1

        found = cf.sweep(job, {"scan.power": np.linspace(1, 9, 500)}, study=light_of_watts, client=pool, progress=landed)
    assert found["done"].all() and pool.most == 16 and (found["light_of_watts"] == found["scan.power"]).all()


def test_points_run_side_by_side(job):
    meeting = threading.Barrier(2, timeout=10)
    assert cf.sweep(job, {"scan.power": POWERS[:2]}, study=lambda job: meeting.wait(), threads=2)["done"].all()


@pytest.mark.parametrize("ranges, error, words", [
    ({"scan.pwoer": [1.0]}, cf.JobError, "Did you mean scan.power"),
    ({"axial_": [1.0]}, cf.JobError, "no such parameter"),
    ({"scan.power": []}, ValueError, "no values"),
    ({"scan.power": np.array([])}, ValueError, "no values"),
    ({"scan.power": np.ones((2, 2))}, ValueError, "2 dimensions"),
    ({"scan.power": "20 %"}, ValueError, "one value; expected a list"),
    ({"scan.power": 6.0}, ValueError, "one value; expected a list"),
    ({}, ValueError, "no ranges"),
    ({"power": [1.0], "scan.power": [2.0]}, ValueError, '"power" and "scan.power".*the same parameter twice'),
    ({"scan.power": ["20 %", "0.2 1"]}, ValueError, "the same value as 20 %"),
    ({"scan.power": ["20 %", "2 W"]}, ValueError, "all values of one kind"),
    ({"scan.power": ["20 %", 2.0]}, ValueError, "all values of one kind"),
    ({"scan.power": ["20 %", "20 mm"]}, cf.JobError, r"20 mm.* \(a length; .* At the point scan.power = 20 mm"),
    ({"scan.power": [2.0], "rated_power": [10.0, 1.0]}, cf.JobError, "At the point scan.power = 2.0, laser.rated_power = 1.0"),
    ({"workpiece.base": ["al_6061", "al_6160"]}, cf.JobError, "no such material.* At the point workpiece.base = al_6160"),
    ({"scan.power": np.linspace(1, 9, 400), "scan.speed": np.linspace(0.01, 0.02, 300)}, ValueError, "400 x 300 = 120000.*largest=120000"),
])
def test_bad_ranges_are_refused_before_anything_runs(job, ranges, error, words):
    CALLS.clear()
    with pytest.raises(error, match=words):
        cf.sweep(job, ranges, study=light)
    assert not CALLS


def test_bad_arguments_are_refused(job):
    one = {"scan.power": POWERS[:1]}
    for arguments, words in [({"threads": 0}, "threads = 0"), ({"errors": "ignore"}, "errors"), ({"threads": 1, "client": 1}, "both")]:
        with pytest.raises(ValueError, match=words):
            cf.sweep(job, one, study=light, **arguments)
    with pytest.raises(TypeError, match="client = 1 "):
        cf.sweep(job, one, study=light, client=1)
    with pytest.raises(ValueError, match="points .more than largest = 1"):
        cf.sweep(job, {"scan.power": POWERS}, study=light, largest=1)


@pytest.mark.parametrize("returns, words", [
    (lambda power: {"a": 1.0} if power == "20 %" else {"b": 1.0}, r"\{b: a number\} at scan.power = .*, but \{a: a number\} before"),
    (lambda power: {"a": 1.0 if power == "20 %" else "x"}, r"\{a: a text\} at .* \{a: a number\} before"),
    (lambda power: np.zeros(2 if power == "20 %" else 3), r"float64 \(3,\)\} at .*float64 \(2,\)\} before"),
    (lambda power: {"done": 1.0}, "figure 'done'"),
    (lambda power: {"scan.power": 1.0}, "figure 'scan.power'"),
    (lambda power: {"a": None}, "figure 'a' of a study is a NoneType"),
    (lambda power: {"a": np.array([None])}, "an array of object"),
    (lambda power: cf.parse_job, "figure 'value' of a study is a builtin"),
])
def test_figures_must_be_plain_and_the_same_everywhere(job, returns, words):
    with pytest.raises((ValueError, TypeError), match=words):
        cf.sweep(job, {"scan.power": POWERS}, study=lambda job: returns(job["scan.power"]), threads=1)


def test_whole_numbers_get_room_for_what_is_not_computed():
    table = Table([Axis("scan.power", [1.0, 2.0], "W")])
    table.add((1,), flat({"small": np.uint8([7]), "large": np.int64([2**40]), "yes": True, "half": np.float16([0.5])}, "value"), 0.1, "")
    made = table.dataset({}, {})
    assert {name: str(made[name].dtype) for name in ("small", "large", "yes", "half")} == {
        "small": "float32", "large": "float64", "yes": "float64", "half": "float16"}
    assert made["large"].values[1] == 2**40 and np.isnan(made["small"].values[0]).all() and made["done"].values.tolist() == [False, True]


def test_a_sweep_here_needs_no_cluster_library(job, folder):
    code = (f"import sys, circumfluence as cf; cf.sweep(cf.read_job({str(folder / 'small.toml')!r}), {{'power': [1.0]}}); "
            "print('distributed' in sys.modules)")
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "False\n"


def test_the_store_is_plain_json_lines(job, tmp_path):
    cf.sweep(job, {"scan.power": POWERS}, store=tmp_path / "points.jsonl")

    def refuse(word):
        raise AssertionError(word)

    lines = [json.loads(line, parse_constant=refuse) for line in (tmp_path / "points.jsonl").read_text().splitlines()]
    assert [set(line) for line in lines[1:]] == [{"key", "at", "took", "figures"}] * 3
    assert all(re.fullmatch("[0-9a-f]{64}", line["key"]) for line in lines[1:])
