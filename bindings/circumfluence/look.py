"""What it will look like: tones, colours, letters, codes, and the part in the round.

    from circumfluence import look

    curve = look.tone_curve(job, screen="blue_noise", dot="0.1 mm")
    art = look.halftone(curve.corrected("photo.png"))      # dots whose greys come out as the photograph asks
    look.write_image("dots.png", art, pixel="0.1 mm")
    mark = cf.predict(job)
    mark.render(turn="30 deg", wiped=True)                 # and mark.flat(), mark.codes(), mark.write_turning("part.html")

A job's process is made ready once with `process = look.Swatches(job)`, which every function takes in place of the job.
Quantities are strings with a unit or SI numbers. What these rest on is in docs/theory/tones.md,
halftone.md, codes.md and round.md.
"""

from __future__ import annotations

from typing import Any, Sequence

from ._core import (  # noqa: F401
    CodeGrade, CodeRoom, Contrast, Finest, Finish, Lettering, Look, Shade, Skin, Smallest, Swatch, Swatches, Symbol,
    ToneCurve, code_room, contrast, find_symbols, halftone, lettering, look, screen_ranks, smallest, tone_curve, words,
    write_image)

__all__ = [
    "CodeGrade", "CodeRoom", "Contrast", "Finest", "Finish", "Lettering", "Look", "NAMES", "SCREENS", "Shade", "Skin", "Smallest",
    "Swatch", "Swatches", "Symbol", "ToneCurve", "code_room", "contrast", "find_symbols", "halftone", "lettering", "look",
    "plot_tones", "screen_ranks", "smallest", "tone_curve", "words", "write_image",
]

SCREENS = ("bayer", "floyd_steinberg", "jarvis_judice_ninke", "stucki", "blue_noise")
NAMES = {None: "power", "bayer": "Bayer", "floyd_steinberg": "Floyd-Steinberg", "jarvis_judice_ninke": "Jarvis-Judice-Ninke",
         "stucki": "Stucki", "blue_noise": "blue noise"}


def plot_tones(curves: Sequence[ToneCurve], ax: Any = None) -> Any:
    """Draws tone curves: the share given to the machine against the lightness it comes out as; dotted, the lightness that was
    asked, which corrected art comes to. Returns the axes."""
    import matplotlib.pyplot as plt

    if ax is None:
        ax = plt.subplots(figsize=(6, 4), constrained_layout=True)[1]
    for curve in curves:
        drawn, = ax.plot(100 * curve.shares, curve.lightness, label=f"{NAMES[curve.screen]}, {curve.steps} greys")
        ax.plot([0, 100], curve.lightness[[0, -1]], color=drawn.get_color(), linewidth=0.7, linestyle=":")
    ax.set(xlabel="share given to the machine [%]", ylabel="lightness L* of the part", xlim=(0, 100))
    ax.legend(frameon=False)
    return ax
