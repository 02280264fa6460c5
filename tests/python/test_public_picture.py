"""A published picture through the whole road, by the program.

Truth: the picture itself, turned into a mask here with numpy: what the art wants must be what comes off the bottle,
where it should lie. Pictures: shipped with scikit-image. horse.png, a silhouette given under CC0 by Andreas Preuss;
clock_motion.png, a photograph released into the public domain by Stefan van der Walt.
"""

import json
import os
import pathlib
import subprocess

import h5py
import numpy as np
import pytest
from PIL import Image

PICTURES = pathlib.Path("/usr/lib/python3/dist-packages/skimage/data")
ROOT = pathlib.Path(__file__).parent.parent.parent
CELL = 0.05e-3

JOB = """[laser]
wavelength = "450 nm"
rated_power = "10 W"
losses = "0 %"
spot_axial = "80 um"
spot_around = "80 um"
focus_depth = "4 mm"
[workpiece]
shape = "straight"
length = "180 mm"
diameter = "73 mm"
wall = "0.8 mm"
base = "al_6061"
coat = "polyester_powder_black"
coat_thickness = "60 um"
temperature = "20 degC"
[mount]
hold = "turning"
[artwork]
file = "{file}"
size_axial = "40 mm"
axial = "90 mm"
burns = "dark"
[scan]
power = "75 %"
speed = "2500 mm/min"
spacing = "0.1 mm"
direction = "axial"
two_way = true
run_up = "3 mm"
acceleration = "1000 mm/s^2"
power_habit = "follows_speed"
[grid]
cell = "50 um"
margin = "1 mm"
"""


def program():
    build = pathlib.Path(os.environ.get("CIRCUMFLUENCE_BUILD", ROOT / "build"))
    for path in (os.environ.get("CIRCUMFLUENCE_PROGRAM"), build / "bin/circumfluence"):
        if path and pathlib.Path(path).exists():
            return str(path)
    pytest.skip("no program: set CIRCUMFLUENCE_PROGRAM")


def darkness(path):
    """Share of each pixel that wants to be burnt: dark, and not transparent; BT.709 luma of the stored values."""
    pixels = np.asarray(Image.open(path).convert("RGBA"), float) / 255
    return (1 - pixels[..., :3] @ [0.2126, 0.7152, 0.0722]) * pixels[..., 3]


@pytest.mark.parametrize("name", ["horse.png", "clock_motion.png"])
def test_the_mark_is_the_picture(name, tmp_path):
    if not (PICTURES / name).exists():
        pytest.skip("python3-skimage is not installed")
    job = tmp_path / "bottle.toml"
    job.write_text(JOB.format(file=PICTURES / name))
    environment = {"CIRCUMFLUENCE_MATERIALS": str(ROOT / "sim/workpiece/materials"), **os.environ}
    done = subprocess.run([program(), "predict", str(job), "--folder", str(tmp_path), "--json"], capture_output=True, text=True, env=environment)
    assert done.returncode == 0, done.stderr
    verdict = json.loads(done.stdout)
    for picture in ("bottle.outcome.png", "bottle.view.png"):
        assert Image.open(tmp_path / picture).size[0] > 400

    wants = darkness(PICTURES / name)
    height, width = wants.shape
    area = 40e-3 * 40e-3 * height / width
    assert verdict["wanted_area"] == pytest.approx((wants > 0.5).mean() * area, rel=0.02)
    assert verdict["verdict"] == "marks" and verdict["wanted"]["over_burned"] == 0
    assert verdict["hottest"] < 293.15 + 150  # bright metal, unharmed

    with h5py.File(tmp_path / "bottle.mark.h5") as file:
        outcome, removed = file["outcome"][:], file["changed"][:]
        axial, around = file["axial"][:], file["around"][:]
    # The nearest pixel of each cell: width along the axis, the top toward growing `around`.
    column = np.floor((axial - 90e-3) / 40e-3 * width + width / 2).astype(int)
    row = np.floor(height / 2 - around / (40e-3 * height / width) * height).astype(int)
    inside = np.ix_((row >= 0) & (row < height), (column >= 0) & (column < width))
    wanted = wants[np.clip(row, 0, height - 1)][:, np.clip(column, 0, width - 1)] > 0.5
    agree = (outcome[inside] == 2) == wanted[inside]
    assert agree.mean() > 0.95  # the rest are edges, half a spot wide
    for mirrored in (wanted[::-1], wanted[:, ::-1]):
        assert agree.mean() > ((outcome[inside] == 2) == mirrored[inside]).mean() + 0.02

    # Away from edges there is no doubt: well inside the art the coat is gone, well outside it is whole.
    def shrunk(mask, cells=4):
        kept = mask.copy()
        for axis in (0, 1):
            for shift in range(-cells, cells + 1):
                kept &= np.roll(mask, shift, axis)
        return kept

    assert (removed[inside][shrunk(wanted[inside])] > 0.98 * 60e-6).all()
    assert (removed[inside][shrunk(~wanted[inside])] == 0).all()
    assert (removed[0] == 0).all() and (removed[:, 0] == 0).all()  # the margin
