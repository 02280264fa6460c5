"""What a laser will do to a cylinder, computed before the laser is switched on.

    import circumfluence as cf

    job = cf.read_job("bottle.toml")
    mark = cf.predict(job.replace(power="60 %"))
    print(mark.verdict)

Quantities are strings with a unit ("60 um") or SI numbers (60e-6). Maps are [around][axial].
"""

from ._core import (  # noqa: F401
    Caustic, CharDepth, Dose, Echo, EnthalpyLayer, EnthalpyPatch, EnthalpyResult, EnthalpyRun, EnthalpySteps, Exposure,
    Figure, FileError, Image, Interrupted, Job, JobError, Layer, LayeredSpot, MarkFile, MarkMap, Material, MeltReach, Model,
    Optics, Profile, Raster, Reaction, Scene, SpotProfile, SpotState, SpotTable, Surface, Sweep, ValidityError, Verdict,
    Waist, WallWarming, __version__, addresses, air_transfer, bleached, caustic, ciede2000, develop, expose, format, fresnel,
    history, job, job_file_reference, lab_from_srgb, layers, linear_rise, material, materials, oxide, parse_job,
    parse_materials, peak, plan, predict, prepare, pulse_ripple, quantity, read_image, read_job, respond, rise, sagitta,
    solve_enthalpy, temperature_of, threshold, true_rise, warm_wall, workpiece)
from .maps import fluence, open_mark, plot, to_xarray

# A prediction knows how to show itself.
MarkMap.to_xarray = to_xarray  # type: ignore[method-assign]
MarkMap.plot = plot  # type: ignore[method-assign]

__all__ = [
    "Caustic", "CharDepth", "Dose", "Echo", "EnthalpyLayer", "EnthalpyPatch", "EnthalpyResult", "EnthalpyRun",
    "EnthalpySteps", "Exposure", "Figure", "FileError", "Image", "Interrupted", "Job", "JobError", "Layer", "LayeredSpot",
    "MarkFile", "MarkMap", "Material", "MeltReach", "Model", "Optics", "Profile", "Raster", "Reaction", "Scene",
    "SpotProfile", "SpotState", "SpotTable", "Surface", "Sweep", "ValidityError", "Verdict", "Waist", "WallWarming",
    "__version__", "addresses", "air_transfer", "bleached", "caustic", "ciede2000", "develop", "expose", "fluence", "format",
    "fresnel", "history", "job", "job_file_reference", "lab_from_srgb", "layers", "linear_rise", "material", "materials",
    "open_mark", "oxide", "parse_job", "parse_materials", "peak", "plan", "plot", "predict", "prepare", "pulse_ripple",
    "quantity", "read_image", "read_job", "respond", "rise", "sagitta", "solve_enthalpy", "temperature_of", "threshold",
    "to_xarray", "true_rise", "warm_wall", "workpiece",
]
