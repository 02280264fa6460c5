"""Tool paths as pictures. matplotlib is asked for only when they are drawn."""

from __future__ import annotations

from typing import Any

import numpy as np

from . import _core


def plot_path(self: _core.ToolPath, ax: Any = None, colour_by: str = "power", dark: bool = True) -> Any:
    """Draws a path in millimetres as the art is fed: what is burnt coloured by a field of its moves ("power", "speed",
    "start", ...), with `dark` the ways between in grey. Returns the axes."""
    import matplotlib.pyplot as plt
    from matplotlib.collections import LineCollection

    if ax is None:
        ax = plt.subplots(figsize=(8, 5), constrained_layout=True)[1]
    moves = self.moves
    ends, of = self.pieces()
    plane = 1e3 * ends[:, :, :2]
    lit = (moves["power"][of] > 0) & (moves["kind"][of] != 2)
    if dark:
        ax.add_collection(LineCollection(plane[~lit], colors="#bbbbbb", linewidths=0.6, linestyles="dotted"))
    values = moves[colour_by][of][lit]
    scale, label = {"power": (100, "power [% of the rated one]"), "speed": (60e3, "speed asked for [mm/min]"),
                    "start": (1, "begins after [s]"), "top": (60e3, "greatest speed [mm/min]")}.get(colour_by, (1, colour_by))
    several = values.size > 0 and np.ptp(values) > 0
    burnt = LineCollection(plane[lit], array=scale * values, cmap="viridis" if several else "copper", linewidths=1.6)
    ax.add_collection(burnt)
    if several:
        ax.figure.colorbar(burnt, ax=ax, label=label)
    ax.autoscale_view()
    ax.set_aspect("equal")
    ax.set_xlabel("along the axis [mm]")
    ax.set_ylabel("around the part [mm]")
    return ax
