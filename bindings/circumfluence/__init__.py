"""What a laser will do to a cylinder, computed before the laser is switched on.

    import circumfluence as cf

    job = cf.read_job("bottle.toml")
    mark = cf.predict(job.replace(power="60 %"))
    print(mark.verdict)

Quantities are strings with a unit ("60 um") or SI numbers (60e-6). Maps are [around][axial].
"""

from ._core import (  # noqa: F401
    Band, Batch, Caustic, CharDepth, Closure, Coarsest, Correction, Dose, Doubt, Doubts, Echo, EnthalpyLayer,
    EnthalpyPatch, EnthalpyResult, EnthalpyRun, EnthalpySteps, Exposure, FedArt, Figure, FileError, Finding, Focus,
    HeightRoom, Image, Indices, Interrupted, Job, JobError, Joint, Landing, Layer, LayeredSpot, MarkFile, MarkMap,
    Material, Measure, MeltReach, Model, Moment, Optics, Outlook, PathRestart, Profile, Rank, Ranking, Raster, Reaction,
    Recommendation, Relaxation, Restart, Scene, Seat, SetUp, Setting, SpotProfile, SpotState, SpotTable, Steps, Strip,
    Surface, Sweep, ToolPath, Unknown, ValidityError, Verdict, Waist, WallWarming, Width, __version__, addresses,
    air_transfer, backlash_of, bands, batch, bleached, caustic, chance_in_step, chances, check_path, ciede2000, closure,
    correction, develop, diameter_across, diameter_round, doubts, ends, expose, fed_job, film_lab, film_reflectance,
    focus_study, format, fresnel,
    history, job, job_file_reference, lab_from_srgb, landing, layers, linear_rise, material, materials, normal_points,
    oxide, parse_job, parse_materials, peak, plan, pre_distort, predict, prepare, pulse_ripple, quantity, rank,
    read_image, read_job, read_path, recommend, respond, rest, restart, rise, ruling_colours, sagitta, seat, set_up,
    slip_of, sobol_indices, solve_enthalpy, steps, temperature_of, threshold, travel_times, true_rise, uniform_points,
    unknowns, usable_width, warm_wall, workpiece)
from . import calibration, look  # noqa: F401
from .maps import fluence, open_mark, plot, to_xarray
from .paths import plot_path
from .sweep import sweep
from .sweep_points import read_sweep
from .window import plot_window, window

# Predictions and paths know how to show themselves.
MarkMap.to_xarray = to_xarray  # type: ignore[method-assign]
MarkMap.plot = plot  # type: ignore[method-assign]
ToolPath.plot = plot_path  # type: ignore[method-assign]

__all__ = [
    "Band", "Batch", "Caustic", "CharDepth", "Closure", "Coarsest", "Correction", "Dose", "Doubt", "Doubts", "Echo",
    "EnthalpyLayer", "EnthalpyPatch", "EnthalpyResult", "EnthalpyRun", "EnthalpySteps", "Exposure", "FedArt", "Figure",
    "FileError", "Finding", "Focus", "HeightRoom", "Image", "Indices", "Interrupted", "Job", "JobError", "Joint",
    "Landing", "Layer", "LayeredSpot", "MarkFile", "MarkMap", "Material", "Measure", "MeltReach", "Model", "Moment",
    "Optics", "Outlook", "PathRestart", "Profile", "Rank", "Ranking", "Raster", "Reaction", "Recommendation",
    "Relaxation", "Restart", "Scene", "Seat", "SetUp", "Setting", "SpotProfile", "SpotState", "SpotTable", "Steps",
    "Strip", "Surface", "Sweep", "ToolPath", "Unknown", "ValidityError", "Verdict", "Waist", "WallWarming", "Width",
    "__version__", "addresses", "air_transfer", "backlash_of", "bands", "batch", "bleached", "calibration", "caustic",
    "chance_in_step", "chances", "check_path", "ciede2000", "closure", "correction", "develop", "diameter_across",
    "diameter_round", "doubts", "ends", "expose", "fed_job", "film_lab", "film_reflectance", "fluence",
    "focus_study", "format", "fresnel", "history",
    "job", "job_file_reference", "lab_from_srgb", "landing", "layers", "linear_rise", "look", "material", "materials",
    "normal_points", "open_mark", "oxide", "parse_job", "parse_materials", "peak", "plan", "plot", "plot_path",
    "plot_window", "pre_distort", "predict", "prepare", "pulse_ripple", "quantity", "rank", "read_image", "read_job",
    "read_path", "read_sweep", "recommend", "respond", "rest", "restart", "rise", "ruling_colours", "sagitta", "seat",
    "set_up", "slip_of", "sobol_indices", "solve_enthalpy", "steps", "sweep", "temperature_of", "threshold",
    "to_xarray", "travel_times", "true_rise", "uniform_points", "unknowns", "usable_width", "warm_wall", "window",
    "workpiece",
]
