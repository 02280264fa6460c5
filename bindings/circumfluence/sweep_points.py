"""The finished points of a sweep: as a labelled table, and as a file of JSON lines that outlives a stopped sweep.

A store is text, one JSON object a line. Lines with "sweep" say what the points belong to (library version, study, the base
job's text, the swept addresses with their values in SI, digests of the pictures); each start over another grid adds one.
All other lines are points: "key" (SHA-256 of the altered job's text, the study and the library version), "at" (the values
swept), "took" (seconds), and "figures" or "error". Of two lines with the same place the later counts.

Floats are written so that they read back bit for bit; what JSON has no word for is {"number": "inf"}, and an array is
{"dtype", "shape", "data"} with its bytes in base64. A line is written at once, and the disk is told at most once a second
and at the end. A last line that was torn is ignored when reading and overwritten when writing. One process writes at a
time, held by flock on the store itself; anybody may read meanwhile.
"""

from __future__ import annotations

import base64
import json
import os
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Dict, List, Optional, Sequence, Tuple, Union

import numpy as np

from . import _core

if TYPE_CHECKING:
    import xarray

Path = Union[str, "os.PathLike[str]"]
Index = Tuple[int, ...]
Figure = Union[float, str, "np.ndarray[Any, np.dtype[Any]]"]
Figures = Dict[str, Figure]

FORMAT = 1
OWN = ("done", "error", "took")  # variables that every sweep has


@dataclass(frozen=True)
class Axis:
    """A swept address and its values: SI numbers with their unit, truth values, or text with the unit ""."""

    address: str
    values: List[Any]
    units: str


def flat(result: Any, name: str) -> Figures:
    """What a study returned, as {name: float, text or array}; a bare number is called `name`."""
    out: Figures = {}
    for key, value in (result if isinstance(result, dict) else {name: result}).items():
        if isinstance(value, (str, np.str_)):
            out[key] = str(value)
        elif isinstance(value, np.ndarray) and value.ndim and value.dtype.kind in "biufcU":
            out[key] = value
        elif isinstance(value, (bool, int, float, np.bool_, np.integer, np.floating)) or _is_number_array(value):
            out[key] = float(value)
        else:
            kind = f"an array of {value.dtype}" if isinstance(value, np.ndarray) else f"a {type(value).__name__}"
            raise TypeError(f"figure {key!r} of a study is {kind} (expected a number, a text or an array of numbers)")
    return out


def _is_number_array(value: Any) -> bool:
    return isinstance(value, np.ndarray) and not value.ndim and value.dtype.kind in "biuf"


def _kind(value: Figure) -> str:
    if isinstance(value, np.ndarray):
        return f"an array of {'text' if value.dtype.kind == 'U' else value.dtype} {value.shape}"
    return "a text" if isinstance(value, str) else "a number"


class Table:
    """Arrays over a grid, filled point by point in any order: NaN or "" until then."""

    def __init__(self, axes: Sequence[Axis]) -> None:
        self.axes = list(axes)
        self.shape = tuple(len(axis.values) for axis in axes)
        self.done = np.zeros(self.shape, bool)
        self.took = np.full(self.shape, np.nan)
        self.error = np.full(self.shape, "", object)
        self.columns: Dict[str, np.ndarray[Any, np.dtype[Any]]] = {}
        self.kinds: Dict[str, str] = {}

    def add(self, index: Index, figures: Figures, took: float, place: str) -> None:
        if not self.kinds:
            self._begin(figures)
        kinds = {name: _kind(value) for name, value in figures.items()}
        if kinds != self.kinds:
            raise ValueError(f"a study returned {_listed(kinds)} at {place}, but {_listed(self.kinds)} before (expected the same "
                             "figures everywhere)")
        for name, value in figures.items():
            self.columns[name][index] = value
        self.done[index], self.took[index], self.error[index] = True, took, ""

    def fail(self, index: Index, error: str, took: float) -> None:
        self.error[index], self.took[index] = error, took

    def _begin(self, figures: Figures) -> None:
        for name, value in figures.items():
            if not isinstance(name, str) or name in OWN or name in [axis.address for axis in self.axes]:
                raise ValueError(f"figure {name!r} of a study (a name that the sweep itself uses, or no text). Call it otherwise.")
            self.kinds[name] = _kind(value)
            if isinstance(value, float):
                self.columns[name] = np.full(self.shape, np.nan)
            elif isinstance(value, str) or value.dtype.kind == "U":
                self.columns[name] = np.full(self.shape + np.shape(value), "", object)
            else:  # whole numbers have no NaN
                dtype = value.dtype if value.dtype.kind in "fc" else np.result_type(value.dtype, np.float32)
                self.columns[name] = np.full(self.shape + value.shape, np.nan, dtype)

    def dataset(self, units: Dict[str, str], attributes: Dict[str, str]) -> "xarray.Dataset":
        import xarray

        dims = tuple(axis.address for axis in self.axes)
        variables: Dict[str, Any] = {}
        for name, column in self.columns.items():
            inner = tuple(f"{name}_{i}" for i in range(column.ndim - len(dims)))
            variables[name] = (dims + inner, column, {"units": units[name]} if name in units else {})
        variables["done"] = (dims, self.done, {"long_name": "computed without an error"})
        variables["error"] = (dims, self.error, {})
        variables["took"] = (dims, self.took, {"units": "s", "long_name": "time the study took"})
        coordinates = {axis.address: (axis.address, np.array(axis.values), {"units": axis.units} if axis.units else {})
                       for axis in self.axes}
        return xarray.Dataset(variables, coordinates, attributes)


def _listed(kinds: Dict[str, str]) -> str:
    return "{" + ", ".join(f"{name}: {kind}" for name, kind in kinds.items()) + "}"


def _encoded(value: Figure) -> Any:
    if isinstance(value, np.ndarray):
        data = base64.b64encode(np.ascontiguousarray(value).tobytes()).decode()
        return {"dtype": value.dtype.str, "shape": value.shape, "data": data}
    return {"number": repr(value)} if isinstance(value, float) and not np.isfinite(value) else value


def _decoded(value: Any) -> Figure:
    if isinstance(value, dict) and "number" in value:
        return float(value["number"])
    if isinstance(value, dict):
        return np.frombuffer(base64.b64decode(value["data"]), np.dtype(value["dtype"])).reshape(value["shape"])
    return value if isinstance(value, str) else float(value)


@dataclass
class Line:
    """A finished point as a store holds it; without figures it is one that failed."""

    key: str
    at: Tuple[Any, ...]
    took: float
    figures: Optional[Figures] = None
    error: str = ""

    def text(self) -> str:
        entry: Dict[str, Any] = {"key": self.key, "at": self.at, "took": _encoded(self.took)}
        if self.figures is None:
            entry["error"] = self.error
        else:
            entry["figures"] = {name: _encoded(value) for name, value in self.figures.items()}
        return json.dumps(entry)


def _parse(path: Path, content: bytes) -> Tuple[List[Dict[str, Any]], List[Line], int]:
    """Headers, points, and the length of what is whole [bytes]."""
    headers: List[Dict[str, Any]] = []
    points: List[Line] = []
    whole, lines = 0, content.split(b"\n")
    for number, line in enumerate(lines[:-1], 1):  # behind the last line break: nothing, or a torn line
        try:
            entry = json.loads(line)
            if "sweep" in entry:
                headers.append(entry)
            else:
                figures = entry.get("figures")
                decoded = None if figures is None else {name: _decoded(value) for name, value in figures.items()}
                took = float(_decoded(entry["took"]))
                points.append(Line(entry["key"], tuple(entry["at"]), took, decoded, entry.get("error", "")))
        except (ValueError, KeyError, TypeError, AttributeError):
            if headers and number == len(lines) - 1:
                break
            raise _core.FileError(f"{path}:{number} (not a line of a sweep's store)") from None
        whole += len(line) + 1
        if not headers or headers[-1]["sweep"] != FORMAT:
            raise _core.FileError(f"{path}:{number} (not the store of a sweep, or of another format than {FORMAT})")
    if not headers and not content.startswith(b'{"sweep"'[: len(content)]):
        raise _core.FileError(f"{path} (not the store of a sweep)")
    return headers, points, whole


def _differs(old: str, new: str) -> str:
    """The first line in which two jobs differ."""
    pairs = zip(old.splitlines() + [""], new.splitlines() + [""])
    return next((f"{b or 'nothing'} instead of {a or 'nothing'}" for a, b in pairs if a != b), "")


class Store:
    """The file while a sweep writes to it: `points` were there already, `append` adds one."""

    def __init__(self, path: Path, header: Dict[str, Any]) -> None:
        self.path = path
        self._synced = time.monotonic()
        self._file = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o666)
        try:
            self._lock()
            with open(path, "rb") as file:
                headers, self.points, whole = _parse(path, file.read())
            for old in headers:
                self._check(old, header)
            os.ftruncate(self._file, whole)
            os.lseek(self._file, 0, os.SEEK_END)
            if header not in headers:
                self._write(json.dumps(header))
        except BaseException:
            self.close()
            raise

    def _lock(self) -> None:
        import fcntl

        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise _core.FileError(f"{self.path} (another sweep is writing to it). Wait for it, or name another store.") from None

    def _check(self, old: Dict[str, Any], new: Dict[str, Any]) -> None:
        problem = ""
        if old["library"] != new["library"]:
            problem = f"points of version {old['library']}, this is {new['library']}"
        elif old["study"] != new["study"]:
            problem = f"points of the study {old['study']}, not of {new['study']}"
        elif old["job"] != new["job"]:
            problem = f"points of another job; here {_differs(old['job'], new['job'])}"
        elif list(old["axes"]) != list(new["axes"]):
            problem = f"a sweep of {', '.join(old['axes'])}, not of {', '.join(new['axes'])}"
        for address, axis in new["axes"].items():
            if not problem and axis["units"] != old["axes"][address]["units"]:
                problem = f"{address} in the unit {old['axes'][address]['units']!r}, not {axis['units']!r}"
        for picture, digest in new["pictures"].items():
            if not problem and digest and (old["pictures"].get(picture) or digest) != digest:
                problem = f"the picture {picture} has changed since"
        if problem:
            raise ValueError(f"{self.path} ({problem}). Name another store, or remove this one.")

    def append(self, line: Line) -> None:
        self._write(line.text())

    def _write(self, text: str) -> None:
        left = memoryview(text.encode() + b"\n")
        while left:
            left = left[os.write(self._file, left):]
        if time.monotonic() - self._synced > 1:
            os.fsync(self._file)
            self._synced = time.monotonic()

    def close(self) -> None:
        import fcntl

        if self._file >= 0:
            os.fsync(self._file)
            fcntl.flock(self._file, fcntl.LOCK_UN)  # processes that were forked meanwhile hold it too
            os.close(self._file)
        self._file = -1


def header(axes: Sequence[Axis], job: str, study: str, units: Dict[str, str], pictures: Dict[str, str]) -> Dict[str, Any]:
    return {"sweep": FORMAT, "library": _core.__version__, "study": study, "job": job, "units": units, "pictures": pictures,
            "axes": {axis.address: {"units": axis.units, "values": axis.values} for axis in axes}}


def attributes(head: Dict[str, Any]) -> Dict[str, str]:
    return {"job": head["job"], "study": head["study"].partition("#")[0], "circumfluence": head["library"]}


def read_sweep(path: Path) -> "xarray.Dataset":
    """What is in the store of a sweep so far, also of one that is still running or was stopped. Where the store has been
    extended, over all values that were ever asked for."""
    with open(path, "rb") as file:
        headers, points, _ = _parse(path, file.read())
    if not headers:
        raise _core.FileError(f"{path} (nothing in it yet)")
    axes = []
    for address, axis in headers[-1]["axes"].items():
        values = list(dict.fromkeys(value for head in headers for value in head["axes"][address]["values"]))
        if len(headers) > 1 and axis["units"]:
            values.sort()
        axes.append(Axis(address, values, axis["units"]))
    places = [{value: i for i, value in enumerate(axis.values)} for axis in axes]
    table = Table(axes)
    for point in points:
        index = tuple(place[value] for place, value in zip(places, point.at))
        if point.figures is not None:
            table.add(index, point.figures, point.took, str(point.at))
        elif not table.done[index]:
            table.fail(index, point.error, point.took)
    return table.dataset(headers[-1]["units"], attributes(headers[-1]))
