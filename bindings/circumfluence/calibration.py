"""Learning from trial pieces: plan a coupon, report what came out, fit, use what was learnt.

    from circumfluence import calibration

    planned = calibration.plan(job, patches=12)
    planned.coupon.write_table("coupon.csv")                # burn it, fill in the table, then
    report = calibration.read_report("coupon.csv", planned.coupon)
    fit = calibration.fit(job, planned.coupon, report)
    print(fit, fit.notes)

Quantities are strings with a unit or SI numbers. What these rest on is in docs/theory/calibration.md.
"""

from __future__ import annotations

from typing import Dict

import numpy as np
import numpy.typing as npt

from ._core import (  # noqa: F401
    BeforeAfter, CausticFit, Coupon, Drift, Fit, Fitted, Looks, Next, Patch, PatchReading, Photo, Planned, Reading,
    Rectangle, Report, Result, Sampling, Side, Slot, SquaredWidth, Trials, candidates_around, caustic_fit, compare, drift,
    filled_table, fit, fitted, fitted_unknowns, forecast, height_ladder, keep, lay_out, nothing_learnt,
    own_materials_path, parse_coupon, parse_report_csv, parse_report_toml, path_text, power_ladder, read_coupon,
    read_coupon_photo, read_photo, read_report, simulated, squared_width, with_threshold, write_art, write_path,
    write_picture, write_reading, write_windows)
from ._core import next_patch as next  # noqa: F401
from ._core import plan_coupon as plan  # noqa: F401
from ._core import report_doubts as doubts  # noqa: F401

__all__ = [
    "BeforeAfter", "CausticFit", "Coupon", "Drift", "Fit", "Fitted", "Looks", "Next", "Patch", "PatchReading", "Photo",
    "Planned", "Reading", "Rectangle", "Report", "Result", "Sampling", "Side", "Slot", "SquaredWidth", "Trials",
    "candidates_around", "caustic_fit", "compare", "doubts", "drift", "filled_table", "fit", "fitted", "fitted_unknowns",
    "forecast", "height_ladder", "keep", "lay_out", "line_widths", "next", "nothing_learnt", "own_materials_path",
    "parse_coupon", "parse_report_csv", "parse_report_toml", "path_text", "plan", "power_ladder", "read_coupon",
    "read_coupon_photo", "read_photo", "read_report", "simulated", "squared_width", "with_threshold", "write_art",
    "write_path", "write_picture", "write_reading", "write_windows",
]


def line_widths(coupon: Coupon, report: Report) -> Dict[str, npt.NDArray[np.float64]]:
    """The single lines of one pass that were measured: number, energy [J/m], width [m], focus_offset [m].

    squared_width(lines["energy"], lines["width"]) takes those of one focus offset.
    """
    patches = {slot.number: slot.patch for slot in coupon.slots}
    rows = [(result.number, patches[result.number].power / patches[result.number].speed, result.width,
             patches[result.number].focus_offset)
            for result in report.results
            if result.width is not None and patches[result.number].is_line and patches[result.number].passes == 1]
    table = np.array(rows, dtype=float).reshape(-1, 4)
    return dict(zip(("number", "energy", "width", "focus_offset"), table.T))
