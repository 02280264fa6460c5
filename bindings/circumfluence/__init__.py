"""What a laser will do to a cylinder, computed before the laser is switched on.

    import circumfluence as cf

    job = cf.read_job("bottle.toml")
    mark = cf.predict(job.replace(power="60 %"))
    print(mark.verdict)

Quantities are strings with a unit ("60 um") or SI numbers (60e-6). Maps are [around][axial].
"""

from ._core import (  # noqa: F401
    Caustic, CharDepth, Coarsest, Dose, Doubt, Doubts, Echo, EnthalpyLayer, EnthalpyPatch, EnthalpyResult, EnthalpyRun, EnthalpySteps,
    Exposure, Figure, FileError, Focus, HeightRoom, Image, Indices, Interrupted, Job, JobError, Layer, LayeredSpot, MarkFile, MarkMap,
    Material, MeltReach, Model, Optics, Outlook, Profile, Rank, Ranking, Raster, Reaction, Recommendation,
    Relaxation, Scene, Setting, SpotProfile, SpotState, SpotTable, Strip, Surface, Sweep, Unknown, ValidityError,
    Verdict, Waist, WallWarming, Width, __version__, addresses, air_transfer, bleached, caustic, chances, ciede2000,
    develop, doubts, ends, expose, focus_study, format, fresnel, history, job, job_file_reference, lab_from_srgb, layers, linear_rise,
    material, materials, normal_points, oxide, parse_job, parse_materials, peak, plan, predict, prepare,
    pulse_ripple, quantity, rank, read_image, read_job, recommend, respond, rise, ruling_colours, sagitta, sobol_indices,
    solve_enthalpy, temperature_of, threshold, true_rise, uniform_points, unknowns, usable_width, warm_wall,
    workpiece)
from .maps import fluence, open_mark, plot, to_xarray
from .sweep import sweep
from .sweep_points import read_sweep
from .window import plot_window, window

# A prediction knows how to show itself.
MarkMap.to_xarray = to_xarray  # type: ignore[method-assign]
MarkMap.plot = plot  # type: ignore[method-assign]

__all__ = [
    "Caustic", "CharDepth", "Coarsest", "Dose", "Doubt", "Doubts", "Echo", "EnthalpyLayer", "EnthalpyPatch", "EnthalpyResult", "EnthalpyRun",
    "EnthalpySteps", "Exposure", "Figure", "FileError", "Focus", "HeightRoom", "Image", "Indices", "Interrupted", "Job", "JobError", "Layer",
    "LayeredSpot", "MarkFile", "MarkMap", "Material", "MeltReach", "Model", "Optics", "Outlook", "Profile", "Rank",
    "Ranking", "Raster", "Reaction", "Recommendation", "Relaxation", "Scene", "Setting", "SpotProfile", "SpotState",
    "SpotTable", "Strip", "Surface", "Sweep", "Unknown", "ValidityError", "Verdict", "Waist", "WallWarming", "Width",
    "__version__", "addresses", "air_transfer", "bleached", "caustic", "chances", "ciede2000", "develop", "doubts", "ends",
    "expose", "fluence", "focus_study", "format", "fresnel", "history", "job", "job_file_reference", "lab_from_srgb", "layers",
    "linear_rise", "material", "materials", "normal_points", "open_mark", "oxide", "parse_job", "parse_materials",
    "peak", "plan", "plot", "plot_window", "predict", "prepare", "pulse_ripple", "quantity", "rank", "read_image",
    "read_job", "read_sweep", "recommend", "respond", "rise", "ruling_colours", "sagitta", "sobol_indices", "solve_enthalpy", "sweep",
    "temperature_of", "threshold", "to_xarray", "true_rise", "uniform_points", "unknowns", "usable_width", "warm_wall",
    "window", "workpiece",
]
