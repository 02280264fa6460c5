"""Maps as labelled arrays and as pictures. xarray and matplotlib are asked for only when they are used."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any, Callable, Optional, Union

import numpy as np

from . import _core

if TYPE_CHECKING:
    import xarray

Map = Union[_core.MarkMap, _core.MarkFile]


def fluence(job: _core.Job, progress: Optional[Callable[[float], Any]] = None) -> "np.ndarray[Any, np.dtype[np.float32]]":
    """Incident fluence of all events [J/m^2], float32 [around][axial], before anything answers."""
    scene = _core.prepare(job)
    surface = _core.develop(scene)
    return _core.expose(scene, surface, _core.plan(scene)).fluence(surface, progress)


def open_mark(path: Union[str, "os.PathLike[str]"]) -> _core.MarkFile:
    """A file of record; its maps are read when asked for: open_mark("bottle.mark.h5")["outcome"]."""
    return _core.MarkFile(path)


def to_xarray(self: Map) -> "xarray.Dataset":
    """The maps with labelled axes and units, as xarray.open_dataset reads them from the file of record."""
    import xarray

    variables = {}
    for name, (unit, long_name, flags, meanings) in _core.layers.items():
        attributes = {"units": unit, "long_name": long_name}
        if flags:
            attributes["flag_meanings"] = meanings
        data = getattr(self, name) if isinstance(self, _core.MarkMap) else self[name]
        variables[name] = (("around", "axial"), data, attributes)
    coordinates = {
        "around": ("around", self.around, {"units": "m", "long_name": "arc length around the part"}),
        "axial": ("axial", self.axial, {"units": "m", "long_name": "position along the axis"}),
        "angle": ("around", np.degrees(self.angle), {"units": "degree", "long_name": "azimuth"}),
        "radius": ("axial", self.radius, {"units": "m", "long_name": "radius of the part"}),
    }
    return xarray.Dataset(variables, coordinates)


def plot(self: Map, layer: str = "outcome", ax: Any = None) -> Any:
    """Draws a map in millimetres: "outcome" or "view" as pictures, any other layer, or "wall", the wall's own temperature
    when the beam came, with a colour bar. Returns the axes."""
    import matplotlib.pyplot as plt

    if ax is None:
        ax = plt.subplots(figsize=(8, 5), constrained_layout=True)[1]
    shown = self.wall if layer == "wall" else self
    if not len(shown.axial):
        raise ValueError("no wall to draw (its warming was left out of this prediction)")
    axial, around = 1e3 * shown.axial, 1e3 * shown.around
    extent = (axial[0], axial[-1], around[0], around[-1])
    if isinstance(self, _core.MarkMap) and layer in ("outcome", "view"):
        ax.imshow(self.picture(layer), extent=extent, interpolation="nearest")
    elif layer == "wall":
        drawn = ax.imshow(self.wall.temperature - 273.15, extent=extent, origin="lower", interpolation="nearest", cmap="inferno")
        ax.figure.colorbar(drawn, ax=ax, label="wall when the beam comes [°C]")
    else:
        unit, long_name = _core.layers[layer][:2]
        data = getattr(self, layer) if isinstance(self, _core.MarkMap) else self[layer]
        drawn = ax.imshow(data, extent=extent, origin="lower", interpolation="nearest", cmap="cividis")
        ax.figure.colorbar(drawn, ax=ax, label=long_name if unit == "1" else f"{long_name} [{unit}]")
    ax.set_xlabel("along the axis [mm]")
    ax.set_ylabel("around the part [mm]")
    return ax
