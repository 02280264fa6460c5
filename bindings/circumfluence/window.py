"""The process window as a labelled array and as a picture. xarray and matplotlib are asked for only when they are used."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, List, Tuple, Union

import numpy as np
import numpy.typing as npt

from . import _core

if TYPE_CHECKING:
    import xarray

Quantities = Union[None, str, float, npt.ArrayLike]

AXES = {
    "spacing": ("m", "between lines"),
    "focus_offset": ("m", "height of the nominal focus above the surface"),
    "passes": ("1", "passes"),
    "power": ("W", "power set at the source"),
    "speed": ("m/s", "speed along the line"),
}
BY_SPEED = {
    "begins": ("W", "power from which something is seen"),
    "centre": ("W", "power from which the lines' centres are marked"),
    "marks": ("W", "power from which enough is marked"),
    "burns": ("W", "power from which too much over-burns"),
    "duration": ("s", "time that the job's art takes"),
}
BY_SETTING = {
    "least_factor": ("1", "factor on power below which too little is marked"),
    "greatest_factor": ("1", "factor on power above which too much over-burns"),
    "chance_marks": ("1", "chance that enough is marked"),
    "chance_spares": ("1", "chance that it does not over-burn"),
    "chance_good": ("1", "chance that it comes out good"),
}
PALE = 0.5  # of the field, so that lines and letters stand out


def window(job: Union[_core.Job, _core.Scene], *, power: Quantities = None, speed: Quantities = None,
           spacing: Quantities = None, focus_offset: Quantities = None, passes: Any = None, chances: bool = False,
           draws: int = 128, seed: int = 1, warming: bool = False, many: bool = False, threads: int = 0,
           progress: Any = None) -> "xarray.Dataset":
    """What an even fill comes to over power and speed: window(job, power=np.linspace(1, 10, 50), passes=[1, 2]).

    A list or array is an axis, one value a scalar coordinate. Powers and speeds left out are 60 each, from 2 % to all
    of the rated power and from a fifth of the job's speed to five times it or `scan.top_speed`; of the rest, the job's
    own. `job` may be a Scene from prepare(), so that its art is not read anew.

    Returns an xarray.Dataset, SI throughout. By speed: begins, centre, marks, burns [W], infinity where no power does,
    and duration [s]. By setting: least_factor, greatest_factor, outcome (0 leaves no mark, 1 under-marks, 2 marks,
    3 over-burns), and with `chances` chance_marks, chance_spares, chance_good, from `draws` of all that is not known
    exactly.

    `warming` counts the heat that earlier lines leave in the wall, some 100 ms a fill; `many` allows more than a
    million settings. `progress` is called with the share done; Interrupted when it returns False. Raises
    ValidityError, JobError.
    """
    import xarray

    solved = _core.solve_window(job, power=power, speed=speed, spacing=spacing, focus_offset=focus_offset,
                                passes=passes, chances=chances, draws=draws, seed=seed, warming=warming, many=many,
                                threads=threads, progress=progress)
    by_setting = solved.dims
    by_speed = tuple(name for name in by_setting if name != "power")
    coordinates = {}
    for name, (unit, words) in AXES.items():
        values = getattr(solved, name)
        dims, data = ((name,), values) if name in by_setting else ((), values[0])
        coordinates[name] = (dims, data, {"units": unit, "long_name": words})
    variables = {name: (by_speed, getattr(solved, name), {"units": unit, "long_name": words})
                 for name, (unit, words) in BY_SPEED.items()}
    for name, (unit, words) in BY_SETTING.items():
        values = getattr(solved, name)
        if values is not None:
            variables[name] = (by_setting, values, {"units": unit, "long_name": words})
    flags = {"long_name": "outcome", "flag_values": np.arange(4, dtype=np.uint8),
             "flag_meanings": " ".join(name.replace(" ", "_") for name in _core.ruling_colours)}
    variables["outcome"] = (by_setting, solved.outcome, flags)
    attributes = {"job": solved.scene.job.text, "version": _core.__version__, "seed": seed, "warming": int(warming)}
    if chances:
        attributes["draws"] = draws
    return xarray.Dataset(variables, coordinates, attributes)


def _clock(seconds: float) -> str:
    if seconds < 60:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    return f"{seconds / 60:.3g} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d}"


def _contour(ax: Any, dataset: "xarray.Dataset", values: "xarray.DataArray", lines: Tuple[List[float], str, str, str]) -> None:
    """Lines of equal value with labels, of the levels that occur: matplotlib warns of others."""
    levels, colour, style, text = lines
    data = values.transpose("power", "speed").values
    found = [level for level in levels if np.nanmin(data) < level < np.nanmax(data)]
    if found:
        drawn = ax.contour(60e3 * dataset.speed, dataset.power, data, found, colors=colour, linestyles=style,
                           linewidths=1.2)
        ax.clabel(drawn, fmt=lambda level: text.format(level, 100 * level), fontsize=8)


def plot_window(dataset: "xarray.Dataset", ax: Any = None) -> Any:
    """Draws a window over power and speed: outcomes as a field, margins on power and chances of 95 % as lines, the time
    that the job takes on the upper edge. Of a window with more axes give one fill: dataset.isel(spacing=0). Returns the
    axes."""
    import matplotlib.pyplot as plt
    from matplotlib.colors import ListedColormap
    from matplotlib.ticker import LogLocator

    if sorted(dataset.outcome.dims) != ["power", "speed"] or min(dataset.outcome.shape) < 2:
        raise ValueError(f"a window over {', '.join(map(str, dataset.outcome.dims)) or 'nothing'} (expected power and "
                         "speed, two values or more of each). Pick one fill: dataset.isel(spacing=0)")
    if ax is None:
        ax = plt.subplots(figsize=(8, 5), constrained_layout=True)[1]
    speed, power = 60e3 * dataset.speed.values, dataset.power.values
    colours = _core.ruling_colours
    ax.pcolormesh(speed, power, dataset.outcome.transpose("power", "speed"), shading="nearest", vmin=-0.5, vmax=3.5,
                  cmap=ListedColormap(list(colours.values())), alpha=PALE, rasterized=True)
    for name, colour in colours.items():
        ax.plot([], [], "s", color=colour, alpha=PALE, label=name)
    margin = np.minimum(1 / dataset.least_factor, dataset.greatest_factor)
    _contour(ax, dataset, margin, ([1.1, 1.25, 1.5, 2.0, 3.0], "#333333", "solid", "× {0:g}"))
    for name, words in (("chance_marks", "marks"), ("chance_spares", "spares")):
        if name in dataset:
            _contour(ax, dataset, dataset[name], ([0.95], "#074099", "dashed", "{1:.0f} % " + words))
    ax.set_xscale("log")
    ax.xaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
    ax.xaxis.set_major_formatter("{x:g}")
    ax.xaxis.set_minor_formatter("")
    ax.set_xlim(speed[0], speed[-1])
    ax.set_ylim(power[0], power[-1])
    ax.set_xlabel("speed [mm/min]")
    ax.set_ylabel("power [W]")
    ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.12), ncol=4, frameon=False)
    top = ax.secondary_xaxis("top")
    at = np.geomspace(speed[0], speed[-1], 5)
    times = np.interp(np.log(at), np.log(speed), dataset.duration.values)
    top.set_xticks(at, [_clock(seconds) for seconds in times])
    top.set_xticks([], minor=True)
    top.set_xlabel("time of the job")
    return ax
