"""Points of a sweep under way: on threads here, or on a cluster that may lose workers.

Only a few points for each thread are submitted at a time. What the study raises travels back as an outcome; what a future
itself raises is therefore the cluster's own trouble: a point whose worker died again and again is tried once more with no
other point beside it, and anything else ends the sweep.
"""

from __future__ import annotations

import asyncio
import contextlib
import functools
import importlib
import itertools
import pickle
import queue
import threading
import time
import uuid
import warnings
from concurrent import futures
from dataclasses import dataclass
from typing import Any, Callable, Dict, Iterable, Iterator, List, Optional, Union

from . import _core
from .sweep_points import Index

Job = _core.Job
Study = Callable[[Job], Any]
PATIENCE = 30.0  # [s] without a finished point, before looking what is the matter


@dataclass
class Outcome:
    """What became of a point, as it travels back."""

    took: float
    result: Any = None
    error: str = ""
    cause: Optional[BaseException] = None


def compute(study: Study, job: Job, here: bool) -> Outcome:
    """One point. Whatever the study raises is an outcome, so that what a future raises is the cluster's own trouble."""
    begun = time.perf_counter()
    try:
        return Outcome(result=study(job), took=time.perf_counter() - begun)
    except BaseException as error:
        took, said = time.perf_counter() - begun, f"{type(error).__name__}: {error}"
        if here:
            return Outcome(took, error=said, cause=error)
        cause = error if isinstance(error, Exception) else KeyboardInterrupt(said)
        try:
            pickle.loads(pickle.dumps(cause))
        except Exception:
            return Outcome(took, error=said, cause=RuntimeError(said))
        return Outcome(took, error=said, cause=cause)


class Threads:
    """Points side by side on this machine. `stop` is set when the sweep is left early, for studies that look."""

    def __init__(self, count: int, study: Study, stop: threading.Event) -> None:
        self._pool = futures.ThreadPoolExecutor(count, "sweep")
        self._count, self._study, self._stop = count, study, stop

    def room(self) -> int:
        return 2 * self._count

    def look_around(self) -> None:
        pass

    def submit(self, job: Job) -> Any:
        return self._pool.submit(compute, self._study, job, True)

    def outcomes(self, done: List[Any]) -> List[Callable[[], Outcome]]:
        return [future.result for future in done]

    def leave(self, pending: List[Any]) -> None:
        self._stop.set()
        self._pool.shutdown(wait=not pending, cancel_futures=True)


class Cluster:
    """A dask.distributed Client or a concurrent.futures Executor, which stays its owner's."""

    def __init__(self, client: Any, study: Study) -> None:
        if not hasattr(client, "submit") or getattr(client, "asynchronous", False):
            raise TypeError(f"client = {client!r} (expected a dask.distributed Client that is not asynchronous, or an executor "
                            "with submit)")
        self._client, self._study = client, study
        self._is_dask = type(client).__module__.split(".")[0] == "distributed"
        self._here = isinstance(client, futures.ThreadPoolExecutor)
        self._name = f"sweep-{uuid.uuid4().hex[:12]}"
        self._numbers = itertools.count()
        self._room, self._asked, self._warned = 16, -1e9, False
        self._check_that_it_travels()

    def _check_that_it_travels(self) -> None:
        if not self._is_dask and not isinstance(self._client, futures.ProcessPoolExecutor):
            return
        packer = importlib.import_module("cloudpickle") if self._is_dask else pickle
        try:
            packer.dumps(self._study)
        except Exception as error:
            raise TypeError(f"study = {self._study!r} (cannot be pickled for a worker: {error}). Define it at the top of a module "
                            "that the workers can import, and open files and connections inside it.") from None

    def room(self) -> int:
        if time.monotonic() - self._asked > 2:  # workers come and go
            self._asked = time.monotonic()
            threads = sum(self._client.nthreads().values()) if self._is_dask else getattr(self._client, "_max_workers", 4)
            self._room = max(16, 4 * threads)
        return self._room

    def look_around(self) -> None:
        """Says so, once, when nobody is there to work: some clusters start workers when they can, others have lost theirs."""
        if self._is_dask and not self._warned and not self._client.nthreads():
            self._warned = True
            warnings.warn("the cluster has no workers; a sweep waits until there are some", stacklevel=2)

    def submit(self, job: Job) -> Any:
        if self._is_dask:
            key = f"{self._name}-{next(self._numbers)}"
            return self._client.submit(compute, self._study, job, False, key=key, pure=False)
        return self._client.submit(compute, self._study, job, self._here)

    def outcomes(self, done: List[Any]) -> List[Callable[[], Outcome]]:
        """What gives each outcome, or raises. A cluster is asked for many at once: each question takes milliseconds."""
        asked: List[Callable[[], Outcome]] = [future.result for future in done]
        if self._is_dask and all(future.status == "finished" for future in done):
            with contextlib.suppress(Exception):  # else one by one, to see whose fault it is
                asked = [functools.partial(_given, outcome) for outcome in self._client.gather(done)]
        return asked

    def leave(self, pending: List[Any]) -> None:
        with contextlib.suppress(Exception):  # also when the cluster has gone
            if self._is_dask and pending:
                self._client.cancel(pending)
            for future in [] if self._is_dask else pending:
                future.cancel()


def _given(outcome: Outcome) -> Outcome:
    return outcome


class Flight:
    """Points under way. `land` is called here, in the caller's thread, with each point's outcome."""

    def __init__(self, crew: Union[Threads, Cluster], job_at: Callable[[Index], Job],
                 land: Callable[[Index, Outcome], None]) -> None:
        self._crew, self._job_at, self._land = crew, job_at, land
        self._flying: Dict[Index, Any] = {}
        self._finished: "queue.SimpleQueue[Index]" = queue.SimpleQueue()
        self._troubles, self._alone = 0, False

    def run(self, indices: Iterable[Index]) -> None:
        try:
            suspects = self._all(iter(indices), self._crew.room)
            if self._troubles:
                time.sleep(1)  # until a worker that is closing has gone
            self._alone = True  # a worker takes down all points that it holds: who it was shows when each flies alone
            for index in self._all(iter(suspects), lambda: 1):
                self._land(index, Outcome(float("nan"), error="KilledWorker: the worker died whenever it computed this point"))
        except BaseException:
            self._harvest()
            self._crew.leave(list(self._flying.values()))
            raise
        self._crew.leave([])

    def _all(self, indices: Iterator[Index], room: Callable[[], int]) -> List[Index]:
        """Lands points; returns those that the cluster failed at."""
        suspects: List[Index] = []
        while True:
            for index in itertools.islice(indices, max(0, room() - len(self._flying))):
                self._flying[index] = future = self._crew.submit(self._job_at(index))
                future.add_done_callback(lambda _, index=index: self._finished.put(index))
            if not self._flying:
                return suspects
            done = [self._wait()]
            with contextlib.suppress(queue.Empty):
                while len(done) < 64:
                    done.append(self._finished.get_nowait())
            for index, outcome in zip(done, self._crew.outcomes([self._flying[index] for index in done])):
                if not self._take(index, outcome):
                    suspects.append(index)
                del self._flying[index]

    def _wait(self) -> Index:
        while True:
            try:
                return self._finished.get(timeout=PATIENCE)
            except queue.Empty:
                self._crew.look_around()

    def _take(self, index: Index, outcome: Callable[[], Outcome]) -> bool:
        """Whether the point landed. A worker that is closing fails a few points; where all fail, it is not the worker."""
        try:
            landed = outcome()
        except (Exception, asyncio.CancelledError) as error:
            kind = type(error).__name__
            if kind == "CancelledError":
                raise RuntimeError("the cluster has dropped the points under way (closed, or its scheduler is lost)") from error
            if kind != "KilledWorker":
                self._troubles += 1
                if self._alone or self._troubles > 16 or isinstance(error, futures.BrokenExecutor):
                    raise RuntimeError(f"a worker cannot take the study or its job, or has gone ({kind}: {error})") from error
            return False
        self._troubles = 0
        self._land(index, landed)
        return True

    def _harvest(self) -> None:
        """What has finished by now is kept."""
        for index, future in list(self._flying.items()):
            if future.done():
                with contextlib.suppress(BaseException):
                    outcome = future.result(timeout=1)
                    if not outcome.error:
                        self._land(index, outcome)
                del self._flying[index]
