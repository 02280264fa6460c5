"""Sweeps: any study over a grid of altered jobs, on this machine's threads or on a cluster.

    job -> job.replace({address: value, ...}) at each point of the grid -> study -> one labelled table

Points don't know of each other, so they may be computed in any order, anywhere, and again: the table is the same bit for bit
as that of a loop. What is submitted is kept short (a few points for each thread), so that a grid costs the memory of its
table alone; jobs travel pickled as their text, results as plain numbers.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import importlib
import inspect
import itertools
import os
import pickle
import threading
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Callable, Dict, Iterable, Iterator, List, Mapping, Optional, Tuple, Union

import numpy as np

from . import _core
from .sweep_flight import Cluster, Flight, Job, Outcome, Study, Threads
from .sweep_points import Axis, Figures, Index, Line, Path, Store, Table, attributes, flat, header

if TYPE_CHECKING:
    import xarray

Changes = Dict[str, Any]

SI_UNITS = ("m", "1", "W", "m/s", "m/s^2", "s", "K", "rad", "Hz")  # one a dimension that a job knows
VERDICT_UNITS = {
    **{f"{which}_{state}": "1" for which in ("wanted", "unwanted")
       for state in ("untouched", "under_marked", "marked", "over_burned")},
    "wanted_area": "m^2", "unwanted_area": "m^2", "power": "W", "least_factor": "1", "greatest_factor": "1", "chance_marks": "1",
    "chance_spares": "1", "hottest": "K", "warmest_wall": "K", "melted_depth": "m", "melted_width": "m", "softened": "1",
    "duration": "s", "lines": "1", "stripes": "1", "notes": "1"}


def verdict_figures(job: Job, progress: Optional[Callable[[float], Any]] = None) -> Dict[str, Any]:
    """The study of a sweep that names none: the verdict of a full prediction on one thread, as flat figures in SI."""
    verdict = _core.predict(job, threads=1, keep=False, progress=progress).verdict
    shares = {f"wanted_{state}": share for state, share in verdict.wanted.items()}
    shares.update((f"unwanted_{state}", share) for state, share in verdict.unwanted.items())
    figures = {name: getattr(verdict, name) for name in VERDICT_UNITS if name not in shares and name != "notes"}
    return {"ruling": verdict.ruling, **shares, **figures, "notes": len(verdict.notes)}


@dataclass
class Grid:
    """All combinations of the values; the last address runs fastest."""

    job: Job
    labels: Dict[str, List[Any]]  # by full address, as given

    @property
    def shape(self) -> Tuple[int, ...]:
        return tuple(len(values) for values in self.labels.values())

    def indices(self) -> Iterator[Index]:
        return itertools.product(*map(range, self.shape))

    def changes(self, index: Index) -> Changes:
        return {address: values[i] for (address, values), i in zip(self.labels.items(), index)}

    def place(self, index: Index) -> str:
        return ", ".join(f"{address} = {value}" for address, value in self.changes(index).items())

    def altered(self, index: Index) -> Job:
        try:
            return self.job.replace(self.changes(index))
        except _core.JobError as error:
            named = _core.JobError(f"{error} At the point {self.place(index)}.")
            named.problem, named.file, named.line, named.column = str(named), None, None, None
            raise named from None


def _full_address(job: Job, key: str) -> str:
    job[key]  # JobError, with a suggestion
    return next(address for address in _core.addresses() if key in (address, address.split(".")[1]))


def _labels(address: str, given: Any, largest: int) -> List[Any]:
    if isinstance(given, (str, bytes)) or not isinstance(given, Iterable):
        raise ValueError(f"{address} = {given!r} (one value; expected a list of values)")
    if hasattr(given, "__array__"):
        given = np.asarray(given)
        if given.ndim != 1:
            raise ValueError(f"{address} (an array of {given.ndim} dimensions; expected one)")
        given = given.tolist()
    values = [value.item() if isinstance(value, np.generic) else value for value in itertools.islice(given, largest + 1)]
    if not values:
        raise ValueError(f"{address} (no values; expected at least one)")
    return values


def _grid(job: Job, ranges: Mapping[str, Any], largest: int) -> Grid:
    keys: Dict[str, str] = {}
    labels: Dict[str, List[Any]] = {}
    for key, given in ranges.items():
        address = _full_address(job, key)
        if address in keys:
            raise ValueError(f'"{keys[address]}" and "{key}" (the same parameter twice). Keep one of them.')
        keys[address] = key
        labels[address] = _labels(address, given, largest)
    if not labels:
        raise ValueError("no ranges (expected values for at least one parameter of the job)")
    grid = Grid(job, labels)
    size = int(np.prod(grid.shape, dtype=object))
    if size > largest:
        product = " x ".join(map(str, grid.shape))
        raise ValueError(f"a grid of {product} = {size} points (more than largest = {largest}). "
                         f"Thin it out, or say largest={size}.")
    return grid


def _axis(address: str, given: List[Any], texts: List[str]) -> Axis:
    """What stands on an axis: SI where the job knows a quantity, else true and false, else text."""
    for units in SI_UNITS:
        with contextlib.suppress(_core.JobError):
            _core.quantity(texts[0], units)
            break
    else:
        truth = set(texts) <= {"true", "false"}
        return Axis(address, [text == "true" for text in texts] if truth else texts, "")
    values = []
    for label, text in zip(given, texts):
        try:
            values.append(float(_core.quantity(text if isinstance(label, str) else label, units)))
            _core.quantity(text, units)
        except _core.JobError:
            raise ValueError(f"{address} = {text} (beside {texts[0]}; expected all values of one kind)") from None
    return Axis(address, values, units)


def _axes(grid: Grid, check: Callable[[Index, Job], None]) -> List[Axis]:
    """The axes, once all points have passed the job's checks."""
    texts: Dict[str, List[str]] = {address: [] for address in grid.labels}
    for index in grid.indices():
        altered = grid.altered(index)
        check(index, altered)
        for i, address in enumerate(texts):
            if not any(index[:i] + index[i + 1:]):
                texts[address].append(altered[address])
    axes = [_axis(address, given, texts[address]) for address, given in grid.labels.items()]
    for axis in axes:
        first: Dict[Any, Any] = {}
        for value, label in zip(axis.values, grid.labels[axis.address]):
            if value in first:
                raise ValueError(f"{axis.address} = {label} (the same value as {first[value]}; expected each once)")
            first[value] = label
    return axes


def _anchored(job: Job) -> Job:
    """The same job with its folder from the root, so that a worker that stands elsewhere finds the picture."""
    text, name, folder = getattr(job, "__getstate__")()  # as pickle does
    again = Job.__new__(Job)
    getattr(again, "__setstate__")((text, name, os.path.abspath(folder)))
    return again


def _picture(job: Job, known: Dict[str, str]) -> None:
    """Adds the picture's digest, "" for one that cannot be read here."""
    name = job["artwork.file"]
    if name not in known:
        known[name] = ""
        with contextlib.suppress(OSError), open(os.path.join(job.folder, name), "rb") as file:
            known[name] = hashlib.sha256(file.read()).hexdigest()


def study_name(study: Study) -> str:
    """What a store knows a study by: its qualified name and a digest of its own source, and of what is bound to it."""
    if isinstance(study, functools.partial):
        return f"{study_name(study.func)}({_digest(pickle.dumps((study.args, sorted(study.keywords.items()))))})"
    function, name = _plain_name(study)
    if "<" in name:
        raise ValueError(f"{name} (a store knows a study by its name, and lambdas and inner functions share theirs). Define "
                         "the study at the top of a module or notebook; functools.partial may bind what varies.")
    if study is verdict_figures:
        return name
    source = b""
    with contextlib.suppress(OSError, TypeError):
        source = inspect.getsource(function).encode()
    bound = study if function is not study else getattr(study, "__self__", None) if inspect.ismethod(study) else None
    return f"{name}#{_digest(source + (b'' if bound is None else pickle.dumps(bound)))}"


def _plain_name(study: Study) -> Tuple[Any, str]:
    """The function, or the class of a callable object, and its qualified name."""
    while isinstance(study, functools.partial):
        study = study.func
    function: Any = study if hasattr(study, "__qualname__") else type(study)
    return function, f"{function.__module__}.{function.__qualname__}"


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:12]


class Ledger:
    """Takes outcomes in: into the table, the store, and the caller's progress."""

    def __init__(self, grid: Grid, table: Table, errors: str, progress: Optional[Callable[[float], Any]]) -> None:
        self._grid, self._table, self._progress = grid, table, progress
        self._raises = errors == "raise"
        self.store: Optional[Store] = None
        self.keys: Dict[Index, str] = {}
        self.name = "value"
        self.landed = 0
        self.failed: List[Tuple[Index, str]] = []

    def resume(self) -> None:
        """Takes what the store has, except points that failed: they are tried again."""
        if self.store is None:
            return
        index_of = {key: index for index, key in self.keys.items()}
        for line in self.store.points:
            if line.figures is not None and line.key in index_of:
                index = index_of[line.key]
                self.landed += not self._table.done[index]
                self._table.add(index, line.figures, line.took, self._grid.place(index))
        self.store.points = []
        if self.landed:
            self.tell()

    def land(self, index: Index, outcome: Outcome) -> None:
        figures: Optional[Figures] = None
        if outcome.cause is not None and not isinstance(outcome.cause, Exception):
            raise outcome.cause
        if not outcome.error:
            figures = flat(outcome.result, self.name)
            self._table.add(index, figures, outcome.took, self._grid.place(index))
        else:
            self._table.fail(index, outcome.error, outcome.took)
            self.failed.append((index, outcome.error))
        if self.store is not None:
            at = tuple(axis.values[i] for axis, i in zip(self._table.axes, index))
            self.store.append(Line(self.keys[index], at, outcome.took, figures, outcome.error))
        if outcome.error and self._raises:
            raise RuntimeError(f"the study failed at {self._grid.place(index)}: {outcome.error}") from outcome.cause
        self.landed += 1
        self.tell()

    def tell(self) -> None:
        if self._progress is not None and self._progress(self.landed / self._table.done.size) is False:
            raise _core.Interrupted(f"a sweep was told to stop after {self.landed} of {self._table.done.size} points")


def sweep(job: Job, ranges: Mapping[str, Any], *, study: Optional[Study] = None, client: Any = None, store: Optional[Path] = None,
          threads: Optional[int] = None, progress: Optional[Callable[[float], Any]] = None, errors: str = "keep",
          largest: int = 100_000) -> "xarray.Dataset":
    """Maps a study over all combinations of altered jobs: sweep(job, {"scan.power": ["20 %", "40 %"], "speed": [0.02, 0.04]}).

    `study` takes a job and returns a number, or a dict of numbers, texts and NumPy arrays of fixed shape, the same at each
    point; its attribute `units`, a dict, labels them. Without one: the verdict's figures. `threads` points run side by side
    here (all cores), or all on `client`, a dask.distributed Client or a concurrent.futures Executor.

    Finished points are appended to the file `store` and not computed again next time; see read_sweep. What a study raises is
    kept as the point's `error`, with a warning at the end, unless errors="raise". `progress` is called with the share that is
    finished; Interrupted when it returns False. Returns an xarray.Dataset over the swept addresses, SI throughout, with the
    variables `done`, `error` and `took` [s] besides the study's.
    """
    importlib.import_module("xarray")  # before hours of work
    if errors not in ("keep", "raise"):
        raise ValueError(f'errors = {errors!r} (expected "keep" or "raise")')
    if client is not None and threads is not None:
        raise ValueError("threads and client (both; the client has its own). Keep one of them.")
    if threads is not None and threads < 1:
        raise ValueError(f"threads = {threads} (expected 1 or more)")
    study = verdict_figures if study is None else study
    function, name = _plain_name(study)
    called = name.split(".")[-1]
    units = VERDICT_UNITS if study is verdict_figures else dict(getattr(study, "units", getattr(function, "units", {})))
    name = study_name(study) if store is not None else name
    grid = _grid(_anchored(job), ranges, largest)
    keys: Dict[Index, str] = {}
    pictures: Dict[str, str] = {}

    def check(index: Index, altered: Job) -> None:
        if store is not None:
            keys[index] = hashlib.sha256("\0".join((altered.text, name, _core.__version__)).encode()).hexdigest()
            _picture(altered, pictures)

    table = Table(_axes(grid, check))
    head = header(table.axes, grid.job.replace().text, name, units, pictures)
    ledger = Ledger(grid, table, errors, progress)
    ledger.keys = keys
    ledger.name = called if called.isidentifier() else "value"
    crew: Union[Threads, Cluster]
    if client is None:
        stop = threading.Event()
        stoppable = functools.partial(study, progress=lambda share: not stop.is_set()) if study is verdict_figures else study
        crew = Threads(threads or len(os.sched_getaffinity(0)), stoppable, stop)
    else:
        crew = Cluster(client, study)
    with contextlib.ExitStack() as stack:
        if store is not None:
            ledger.store = stack.enter_context(contextlib.closing(Store(store, head)))
        ledger.resume()
        left = np.argwhere(~table.done)
        Flight(crew, grid.altered, ledger.land).run((tuple(int(i) for i in index) for index in left))
    if ledger.failed:
        index, said = ledger.failed[0]
        warnings.warn(f"{len(ledger.failed)} of {table.done.size} points failed; one of them, {grid.place(index)}: {said}",
                      stacklevel=2)
    return table.dataset(units, attributes(head))
