"""The whole bottle as a case to measure with: draws the art and writes the job beside it.

Blocks of 2 mm, half of them burnt, and a photograph-like picture of 600 x 400 dithered dots, all at 0.1 mm; about
half of the surface burns. small.toml has that picture alone, 60 mm x 40 mm. Always the same (fixed seed).
Usage: draw_case.py FOLDER [straight|taper|standing]
"""

import pathlib
import struct
import sys
import zlib

import numpy as np

WIDTH, HEIGHT, DOT = 1500, 2290, 0.1  # dots along the axis and around, and their size [mm]

JOB = """[laser]
wavelength = "450 nm"
rated_power = "10 W"
losses = "0 %"
spot_axial = "80 um"
spot_around = "80 um"
focus_depth = "4 mm"

[workpiece]
{shape}
wall = "0.8 mm"
base = "al_6061"
coat = "polyester_powder_black"
coat_thickness = "60 um"
temperature = "20 degC"

[mount]
hold = "{hold}"

[artwork]
file = "{art}.png"
size_axial = "{axial} mm"
size_around = "{around} mm"
axial = "75 mm"
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
margin = "0 mm"
"""

STRAIGHT = 'shape = "straight"\nlength = "150 mm"\ndiameter = "73 mm"'
TAPER = 'shape = "tapered"\nlength = "150 mm"\ndiameter = "73.4 mm"\nend_diameter = "72.9 mm"'


def dithered(height, width):
    """A smooth scene, as on a photograph, in dots by error diffusion from left to right."""
    y, x = np.mgrid[0:height, 0:width] / float(height)
    tone = 0.5 + 0.25 * np.sin(9 * x + 3 * np.sin(5 * y)) + 0.25 * np.cos(13 * y - 4 * x * y)
    dots, error = np.empty((height, width), bool), np.zeros(height)
    for column in range(width):
        wanted = tone[:, column] + error
        dots[:, column] = wanted >= 0.5
        error = wanted - dots[:, column]
    return dots


def draw(rows):
    """Tone of the whole surface, or of its first rows."""
    chance = np.random.default_rng(20240607)
    blocks = chance.random((-(-HEIGHT // 20), WIDTH // 20)) < 0.5
    burns = np.kron(blocks, np.ones((20, 20), bool))[:HEIGHT]
    burns[60:460, 450:1050] = dithered(400, 600)
    return np.where(burns[:rows], 0, 255).astype(np.uint8)


def write_png(path, tone):
    """Grey, 8 bit, unfiltered: any PNG reader opens it, and a few lines of NumPy do."""
    height, width = tone.shape
    lines = np.zeros((height, width + 1), np.uint8)
    lines[:, 1:] = tone

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(lines, 6)) + chunk(b"IEND", b""))


def write_job(folder, name, shape, art):
    rows, columns = art.shape
    picture = "art" if name == "bottle" else name
    write_png(folder / f"{picture}.png", art)
    job = JOB.format(shape=TAPER if shape == "taper" else STRAIGHT, art=picture, axial=f"{columns * DOT:.1f}",
                     around=f"{rows * DOT:.1f}", hold="standing" if shape == "standing" else "turning")
    (folder / f"{name}.toml").write_text(job)


def write_case(folder, shape="straight"):
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    # A standing part can be reached over its top only.
    write_job(folder, "bottle", shape, draw(400 if shape == "standing" else HEIGHT))
    write_job(folder, "small", shape, np.where(dithered(400, 600), 0, 255).astype(np.uint8))


if __name__ == "__main__":
    write_case(*sys.argv[1:3])
