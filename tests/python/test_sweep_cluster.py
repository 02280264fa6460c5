"""Sweeps on a cluster of real worker processes: the same as on threads, whoever dies meanwhile.

Truth is the same sweep on this machine's threads, which test_sweep.py holds to a plain loop.
"""
import functools
import os
import pathlib
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
import warnings
from concurrent import futures

import numpy as np
import pytest

import circumfluence as cf

pytest.importorskip("xarray")
dask = pytest.importorskip("dask")
distributed = pytest.importorskip("distributed")
POWERS, SPEEDS = ["20 %", "40 %", "60 %", "80 %", "100 %"], [0.02, 0.03, 0.04, 0.05]
pytestmark = pytest.mark.filterwarnings("ignore:make_current is deprecated:DeprecationWarning")
GRID = {"scan.power": POWERS, "scan.speed": SPEEDS}


def slow(job):
    time.sleep(0.03)
    return cf.predict(job, threads=1).verdict.hottest


def where(job):
    return {"process": float(os.getpid()), "hottest": cf.predict(job, threads=1).verdict.hottest}


def deadly(job):
    if job["scan.power"] == "60 %" and abs(cf.quantity(job["scan.speed"], "m/s") - 0.03) < 1e-9:
        os.kill(os.getpid(), signal.SIGKILL)
    return cf.predict(job, threads=1).verdict.hottest


def picky(job):
    if job["scan.power"] == "60 %":
        job.replace(pwoer="1 W")
    if job["scan.power"] == "80 %":
        raise Unpicklable()
    return 1.0


def stops(job):
    if job["scan.power"] == "60 %":
        raise SystemExit("enough")
    return 1.0


class Unpicklable(Exception):
    def __init__(self):
        super().__init__("kept as text")
        self.lock = threading.Lock()


class NotThere:
    """A study that no worker can take."""

    def __call__(self, job):
        return 1.0

    def __reduce__(self):
        return int, ("no module of that name",)


def same(one, other):
    return one.drop_vars("took").identical(other.drop_vars("took"))


@pytest.fixture(scope="module")
def client():
    # On a busy machine a killed worker takes its time to come back; port 0, for None would still take port 8787.
    with dask.config.set({"distributed.deploy.lost-worker-timeout": "10 minutes"}):
        cluster = distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, silence_logs="CRITICAL",
                                           dashboard_address="127.0.0.1:0")
        with cluster, distributed.Client(cluster) as client:
            yield client


def test_the_cluster_is_the_same_as_threads(job, client):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = cf.sweep(job, GRID, client=client)
    assert same(found, cf.sweep(job, GRID)) and found["done"].all()
    spread = cf.sweep(job, GRID, study=where, client=client)
    assert len(np.unique(spread["process"])) == 2 and os.getpid() not in spread["process"]
    assert (spread["hottest"] == found["hottest"]).all()


def test_a_worker_that_is_killed_loses_nothing(job, client, tmp_path):
    before = client.run(os.getpid)
    victim = sorted(before.values())[0]
    killed = []

    def kill_once(share):
        if share > 0.3 and not killed:
            killed.append(victim)
            os.kill(victim, signal.SIGKILL)

    found = cf.sweep(job, GRID, study=slow, client=client, store=tmp_path / "points.jsonl", progress=kill_once)
    assert killed and found["done"].all()
    assert same(found, cf.sweep(job, GRID, study=slow)) and cf.read_sweep(tmp_path / "points.jsonl").identical(found)
    client.wait_for_workers(2)
    assert victim not in client.run(os.getpid).values()


@pytest.mark.parametrize("allowed", [0, 1])  # with 0 the cluster blames whatever else the worker held
def test_a_point_that_kills_its_workers_is_its_own_error(job, client, monkeypatch, allowed):
    monkeypatch.setattr(client.cluster.scheduler, "allowed_failures", allowed)
    with pytest.warns(UserWarning, match="1 of 20 points failed; one of them, scan.power = 60 %, scan.speed = 0.03: KilledWorker"):
        found = cf.sweep(job, GRID, study=deadly, client=client)
    assert found["done"].sum() == 19 and "KilledWorker" in found["error"][2, 1].item()
    whole = cf.sweep(job, GRID, study=slow, threads=2)
    assert np.array_equal(found["deadly"].values[found["done"].values], whole["slow"].values[found["done"].values])


def test_interrupted_there_and_finished_here(job, client, tmp_path):
    store, grid = tmp_path / "points.jsonl", {"scan.power": POWERS, "scan.speed": np.linspace(0.02, 0.05, 8)}

    def enough(share):
        if share > 0.2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        cf.sweep(job, grid, study=slow, client=client, store=store, progress=enough)
    kept = cf.read_sweep(store)
    assert 9 <= kept["done"].sum() <= 9 + 16  # what had landed, and at most all that was under way
    found = cf.sweep(job, grid, study=slow, store=store)
    assert same(found, cf.sweep(job, grid, study=slow)) and (found["took"] == kept["took"]).values[kept["done"].values].all()
    deadline = time.monotonic() + 10
    while any(client.processing().values()) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not any(client.processing().values())  # nothing is left behind on the cluster


def test_errors_travel_back(job, client):
    with pytest.warns(UserWarning, match="8 of 20 points failed"):
        found = cf.sweep(job, GRID, study=picky, client=client)
    assert "JobError: pwoer" in found["error"][2, 0].item() and found["error"][3, 0].item() == "Unpicklable: kept as text"
    with pytest.raises(RuntimeError, match="failed at scan.power = 60 %.*pwoer") as caught:
        cf.sweep(job, {"scan.power": ["60 %"]}, study=picky, client=client, errors="raise")
    assert isinstance(caught.value.__cause__, cf.JobError)
    with pytest.raises(KeyboardInterrupt, match="SystemExit: enough"):
        cf.sweep(job, GRID, study=stops, client=client)


def test_a_study_that_cannot_travel_is_refused(job, client):
    lock = threading.Lock()
    with pytest.raises(TypeError, match="cannot be pickled for a worker"):
        cf.sweep(job, GRID, study=lambda job: lock.locked(), client=client)
    with pytest.raises(RuntimeError, match="a worker cannot take the study"):
        cf.sweep(job, GRID, study=NotThere(), client=client)
    assert cf.sweep(job, GRID, study=lambda job: 1.0, client=client)["value"].sum() == 20  # dask takes lambdas


def test_a_cluster_without_workers_is_waited_for(job, monkeypatch):
    monkeypatch.setattr(sys.modules["circumfluence.sweep_flight"], "PATIENCE", 0.2)
    with distributed.LocalCluster(n_workers=0, processes=False, dashboard_address="127.0.0.1:0") as cluster, \
            distributed.Client(cluster) as client:
        help_comes = threading.Timer(1, cluster.scale, [1])
        help_comes.start()
        with pytest.warns(UserWarning, match="no workers"):
            assert cf.sweep(job, {"scan.power": POWERS}, client=client)["done"].all()
        help_comes.join()


def test_a_worker_that_is_closing_is_no_error(job):
    class Closing(futures.ThreadPoolExecutor):
        troubles = 0

        def submit(self, function, *arguments):
            self.troubles += 1
            return super().submit(self.fail if self.troubles in (2, 3) else function, *arguments)

        def fail(self, *arguments):
            raise RuntimeError("cannot schedule new futures after shutdown")

    with Closing(2) as pool:
        assert same(cf.sweep(job, GRID, client=pool), cf.sweep(job, GRID)) and pool.troubles == 22


def test_workers_find_the_picture_of_a_job_read_from_here(job, client, folder, monkeypatch):
    monkeypatch.chdir(folder)
    near = cf.read_job("small.toml")
    assert not os.path.isabs(near.folder)
    assert same(cf.sweep(near, {"scan.power": POWERS}, client=client), cf.sweep(job, {"scan.power": POWERS}))


def test_an_executor_will_do(job):
    whole = cf.sweep(job, GRID)
    with futures.ThreadPoolExecutor(2) as pool:
        assert same(cf.sweep(job, GRID, client=pool), whole)
    with futures.ProcessPoolExecutor(2) as pool:
        assert same(cf.sweep(job, GRID, client=pool), whole)
        assert cf.sweep(job, GRID, study=functools.partial(pow_of, power=2), client=pool)["pow_of"].sum() == 80
        with pytest.raises(TypeError, match="cannot be pickled"):
            cf.sweep(job, GRID, study=lambda job: 1.0, client=pool)
        with pytest.raises(RuntimeError, match="BrokenProcessPool"):
            cf.sweep(job, GRID, study=deadly, client=pool)


def pow_of(job, power):
    return 2.0 ** power


def test_the_page_runs(tmp_path, monkeypatch):
    root = pathlib.Path(__file__).resolve().parents[2]
    subprocess.run([sys.executable, root / "sim/demo/draw_art.py", tmp_path / "finisher_art.png"], check=True)
    shutil.copy(root / "sim/demo/finisher_bottle.toml", tmp_path)
    monkeypatch.chdir(tmp_path)
    blocks = re.findall(r"```python\n(.*?)```", (root / "docs/sweeps.md").read_text(), re.S)
    names = {"__name__": "sweeps_page"}
    exec(compile("\n".join(blocks), "docs/sweeps.md", "exec"), names)
    assert len(blocks) == 4 and names["table"]["done"].all()
    assert cf.read_sweep("points.jsonl")["done"].sum() == 3
