#!/usr/bin/env python3
"""Makes the pictures of docs/gallery.md from predictions: make_gallery.py [--into FOLDER] [NAME ...] (all if none is named).

Needs the module circumfluence on PYTHONPATH, NumPy, matplotlib and Pillow. Art is drawn here or by sim/demo/draw_art.py;
the photograph is the invented one of notebooks/photograph_on_a_bottle.ipynb.
"""
import argparse
import io
import json
import pathlib
import subprocess
import sys
import tempfile

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np
from PIL import Image

import circumfluence as cf
from circumfluence import look

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[2]
FOLDER = pathlib.Path(tempfile.mkdtemp(prefix="gallery_"))
DIODE = dict(wavelength="450 nm", rated_power="10 W", losses="0 %", spot_axial="80 um", spot_around="80 um", focus_depth="4 mm")
BLACK = dict(shape="straight", length="180 mm", diameter="73 mm", wall="0.8 mm", base="al_6061", coat="polyester_powder_black",
             coat_thickness="60 um", temperature="20 degC")
SCAN = dict(power="75 %", speed="2500 mm/min", spacing="0.1 mm", direction="axial", two_way=True, run_up="3 mm",
            acceleration="1000 mm/s^2", power_habit="follows_speed")
# HTTPS://FERNHOLLOW.EXAMPLE/R26 as a QR code of version 2, level M, as qrencode draws it: a row a number.
CODE = (0x1fd117f, 0x1058341, 0x175b55d, 0x1746a5d, 0x175305d, 0x104b641, 0x1fd557f, 0x0001b00, 0x13f2c97,
        0x07bd4fc, 0x00db551, 0x0900c7e, 0x0f67e3e, 0x1c0cf08, 0x1a6ba78, 0x1296587, 0x13e87f7, 0x001b918,
        0x1fde157, 0x105171e, 0x1751df6, 0x17504f5, 0x17455cf, 0x104c562, 0x1fd4e73)


def art(name, tones, pixel="50 um"):
    look.write_image(FOLDER / f"{name}.png", tones, pixel=pixel)
    return f"{name}.png"


def job(workpiece=BLACK, laser=DIODE, cell="25 um", scan=None, **artwork):
    return cf.job(folder=str(FOLDER), laser=laser, workpiece=workpiece, mount=dict(hold="turning"),
                  artwork=dict(dict(axial="90 mm", burns="dark"), **artwork), scan=dict(SCAN, **(scan or {})),
                  grid=dict(cell=cell))


def demo():
    subprocess.run([sys.executable, ROOT / "sim/demo/draw_art.py", FOLDER / "finisher_art.png"], check=True)
    return cf.parse_job((ROOT / "sim/demo/finisher_bottle.toml").read_text(), str(FOLDER))


def photograph():
    notebook = json.loads((ROOT / "notebooks/photograph_on_a_bottle.ipynb").read_text())
    names = dict(np=np)
    for cell in notebook["cells"]:
        if "photograph" in cell["metadata"].get("tags", []):
            exec("".join(cell["source"]), names)
    return names["photograph"]()


def panels(columns, rows=1, width=10.0, height=3.4):
    fig, axes = plt.subplots(rows, columns, figsize=(width, height), constrained_layout=True, squeeze=False)
    for ax in axes.flat:
        ax.set_axis_off()
    return fig, axes


def show(ax, picture, title=""):
    ax.imshow(picture, cmap="gray", vmin=0, vmax=255)
    ax.set_title(title, fontsize=9)


def save(fig, name, into):
    """As a PNG below 200 kB: in full colour if that will do, else in grey or 256 colours, and only then coarser."""
    path = into / f"{name}.png"
    for dpi in (110, 100, 90, 80, 70):
        buffer = io.BytesIO()
        fig.savefig(buffer, dpi=dpi, facecolor="white")
        image = Image.open(buffer).convert("RGB")
        grey = np.ptp(np.asarray(image).astype(int), axis=2).max() < 12
        few = image.convert("L") if grey else image.quantize(256, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
        for way in (image, few):
            way.save(path, optimize=True)
            if path.stat().st_size < 195_000:
                plt.close(fig)
                return


def bottle():
    mark = cf.predict(demo())
    fig, axes = panels(2, height=3.0)
    for ax, wiped in zip(axes[0], (False, True)):
        show(ax, mark.render(upright=False, width=1000, height=500, tilt=0, wiped=wiped),
             "wiped" if wiped else "as it leaves the machine")
    return fig


def tone_curves():
    process = look.Swatches(job(file=art("full", np.zeros((8, 8), np.uint8)), size_axial="3 mm"))
    curves = [look.tone_curve(process, screen=screen) for screen in (None, "bayer", "floyd_steinberg", "blue_noise")]
    for curve in curves:
        print(curve, f"gain {curve.gain:.2f}, from {curve.start:.2f} to {curve.full:.2f}", curve.notes)
    fig, ax = plt.subplots(figsize=(6.4, 4), constrained_layout=True)
    look.plot_tones(curves, ax=ax)
    return fig


def picture():
    photo = photograph()
    base = job(file=art("photo", photo), size_axial="60 mm", burns="light", tone="halftone")
    curve = look.tone_curve(base)
    right = art("right", curve.corrected(photo, burns="light"))
    marks = {"greys by power": cf.predict(base.replace(tone="grey", cell="12.5 um")), "blue noise, as it stands": cf.predict(base),
             "blue noise, corrected": cf.predict(base.replace(file=right, burns="dark"))}
    fig, axes = panels(2, 2, width=7.8, height=6.2)
    show(axes[0, 0], photo, "the photograph, invented")
    for ax, (title, mark) in zip(axes.flat[1:], marks.items()):
        show(ax, mark.flat(finest="0.15 mm"), title)
    return fig


def lettering():
    heights = (0.5, 0.8, 1.0, 1.5, 2.0, 3.0)
    pixel = 20e-6
    lines = [look.words(f"Fernhollow {height:g} mm", height=height * 1e-3, pixel=pixel) for height in heights]
    gap, width = 45, max(line.shape[1] for line in lines) + 120
    sheet = [np.full((gap, width), 65535, np.uint16)]
    for line in lines:
        row = np.full((line.shape[0] + gap, width), 65535, np.uint16)
        row[:line.shape[0], 60:60 + line.shape[1]] = line
        sheet.append(row)
    tones = np.concatenate(sheet)
    base = job(file=art("letters", tones, "20 um"), size_axial=f"{tones.shape[1] * pixel * 1e3} mm", cell="20 um")
    told = look.lettering(base)
    print(told, told.notes)
    fig, axes = panels(1, width=8, height=8 * tones.shape[0] / tones.shape[1] + 0.3)
    title = f"legible from capitals of {cf.format(told.height, 'mm', 2)} on, says the prediction"
    show(axes[0, 0], cf.predict(base).flat(finest="20 um"), title)
    return fig


def codes():
    grid = np.pad(np.array([[row >> (24 - i) & 1 for i in range(25)] for row in CODE], bool), 4, constant_values=False)
    tones = np.kron(np.where(grid, 0, 255), np.ones((8, 8))).astype(np.uint8)
    fig, axes = panels(3, width=10, height=3.7)
    for ax, module in zip(axes[0], (0.08, 0.12, 0.16)):
        base = job(file=art("code", tones), size_axial=f"{33 * module} mm", burns="light", cell="10 um",
                   scan=dict(spacing="0.08 mm"))
        mark = cf.predict(base)
        [grade] = mark.codes()
        print(grade, grade.grades, grade.notes)
        says = "reads" if grade.reads else "reads with light and dark exchanged" if grade.reads_inverted else "does not read"
        show(ax, mark.code_view(grade.symbol), f"modules of {module} mm, {grade.spots:.1f} spots: {grade.overall}, {says}")
    return fig


def tumbler():
    steel = dict(shape="tapered", length="120 mm", diameter="70 mm", end_diameter="84 mm", wall="0.8 mm", base="aisi_304",
                 temperature="20 degC")
    wide = dict(DIODE, rated_power="24 W", spot_axial="200 um", spot_around="200 um", focus_depth="10 mm")
    patches = np.kron(255 * (1 - np.linspace(0.45, 1, 12)), np.ones((160, 50))).round().astype(np.uint8)
    mark = cf.predict(job(workpiece=steel, laser=wide, file=art("patches", patches), size_axial="48 mm", axial="60 mm",
                          tone="grey", cell="50 um", scan=dict(power="20 W", speed="100 mm/min", spacing="0.06 mm")))
    row = mark.changed[mark.changed.shape[0] // 2]
    print("oxide [nm]:", [round(1e9 * float(np.median(part))) for part in np.array_split(row[20:-20], 12)])
    print(mark.verdict.duration / 60, "min, wall up to", mark.verdict.warmest_wall, "K", mark.verdict.wanted)
    fig, axes = panels(2, width=10, height=3.4)
    show(axes[0, 0], mark.flat(finest="0.1 mm"), "9 to 20 W from left to right, in light from everywhere")
    show(axes[0, 1], mark.render(upright=False, width=900, height=600, tilt=0, turn="25 deg"), "in the round")
    return fig


def torch():
    case = dict(shape="straight", length="130 mm", diameter="28 mm", wall="1.5 mm", base="al_6061",
                coat="anodic_layer_dyed_black", coat_thickness="12 um", temperature="20 degC")
    tones = look.words("FERNHOLLOW  NIGHT RELAY", height="8 mm", pixel="50 um")
    base = job(workpiece=case, file=art("torch", tones), size_axial="100 mm", axial="65 mm", cell="40 um",
               scan=dict(power="2.2 W", speed="6000 mm/min", spacing="0.06 mm"))
    fig, axes = panels(1, width=9, height=2.6)
    show(axes[0, 0], cf.predict(base).render(upright=False, width=1300, height=330, tilt=0))
    return fig


def birch():
    wood = dict(shape="straight", length="90 mm", diameter="70 mm", wall="8 mm", base="birch", temperature="20 degC")
    photo = photograph()
    base = job(workpiece=wood, file=art("photo", photo), size_axial="60 mm", axial="45 mm", tone="halftone", cell="30 um",
               scan=dict(power="1.2 W", speed="3000 mm/min"))
    curve = look.tone_curve(base)
    print(curve, curve.notes)
    mark = cf.predict(base.replace(file=art("wood", curve.corrected(photo))))
    fig, axes = panels(1, width=6.4, height=4.6)
    show(axes[0, 0], mark.render(upright=False, width=1000, height=760, tilt=0, wiped=True))
    return fig


PICTURES = dict(bottle=bottle, tone_curves=tone_curves, photograph=picture, lettering=lettering, codes=codes, tumbler=tumbler,
                torch=torch, birch=birch)

if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--into", type=pathlib.Path, default=HERE)
    asked.add_argument("names", nargs="*", choices=[[], *PICTURES], default=[], metavar="NAME")
    asked = asked.parse_args()
    for name in asked.names or PICTURES:
        save(PICTURES[name](), name, asked.into)
        print(name, (asked.into / f"{name}.png").stat().st_size, "bytes")
