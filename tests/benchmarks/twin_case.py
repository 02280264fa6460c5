"""What both twins share: the picture and the tables of the case, the energy of the lines, the files written.

The twins get for nothing what the program works out for itself in every run: the job read and checked, the material
records, the grid, the peak beside a line and the weights of a line's echo (mark_benchmark --tables). The heat that earlier
lines leave in the wall stays below what counts in this case; program and twins work that out. Cells and dots are taken to lie inside one pixel
of the picture each, which this case fulfils; the program does not rely on it.
"""

import json
import math
import pathlib
import struct
import sys
import time
import types
import zlib

import numpy as np

LAYERS = ["fluence", "changed", "peak_temperature", "margin", "outcome", "wanted"]


def read_png(path):
    """Grey 8-bit PNG without filters, as draw_case.py writes it."""
    data, at, packed = path.read_bytes(), 8, b""
    while at < len(data):
        size, kind = struct.unpack(">I4s", data[at:at + 8])
        if kind == b"IHDR":
            width, height = struct.unpack(">II", data[at + 8:at + 16])
        elif kind == b"IDAT":
            packed += data[at + 8:at + 8 + size]
        at += 12 + size
    lines = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(height, width + 1)
    if lines[:, 0].any():
        raise ValueError("a filtered PNG")
    return lines[:, 1:]


def read_case(folder):
    folder = pathlib.Path(folder)
    case = types.SimpleNamespace(**json.loads((folder / "tables.json").read_text()))
    case.burns = read_png(folder / "art.png")[::-1] < 128  # rows rising around
    case.warmth = np.array(case.warmth, np.float32)
    return case


def pixels(case, positions, first, last, count):
    """Index of the pixel at each position, and whether there is one."""
    index = np.floor((positions - first) / (last - first) * count).astype(np.intp)
    return np.clip(index, 0, count - 1), (index >= 0) & (index < count)


def wanted(case):
    arcs = case.around_from + (np.arange(case.rows) + 0.5) * case.cell
    places = case.axial_from + (np.arange(case.columns) + 0.5) * case.cell
    rows, _ = pixels(case, arcs, case.art[2], case.art[3], case.burns.shape[0])
    columns, _ = pixels(case, places, case.art[0], case.art[1], case.burns.shape[1])
    return case.burns[:, columns].view(np.uint8)[rows]


def line_energy(case):
    """[line][column] J/m: dots of one cell's length, blurred by the beam along the line, as means over cells."""
    ramp = lambda t: t * 0.5 * (1 + math.erf(math.sqrt(2) * t)) + math.sqrt(2 / math.pi) * math.exp(-2 * t * t) / 4
    r = lambda y: ramp(y / case.along)
    pad, h, cell = 1 + math.ceil(2.7 * case.along / case.cell), case.cell / 2, case.cell
    weights = [case.along / cell * (r(h - (m - .5) * cell) - r(-h - (m - .5) * cell) - r(h - (m + .5) * cell) + r(-h - (m + .5) * cell))
               for m in range(-pad, pad + 1)]
    places = case.axial_from + (np.arange(-pad, case.columns + pad) + 0.5) * cell
    columns, inside = pixels(case, places, case.art[0], case.art[1], case.burns.shape[1])
    crosses = case.first_line + np.arange(case.lines) * case.spacing
    rows, _ = pixels(case, crosses, case.art[2], case.art[3], case.burns.shape[0])
    dots = ((case.burns[:, columns] & inside).astype(np.float32) * np.float32(case.full_energy))[rows]
    energy = np.zeros((case.lines, case.columns), np.float32)
    for m, weight in enumerate(weights):
        energy += np.float32(weight) * dots[:, m:m + case.columns]
    return energy, dots, pad


def heating(case, dots, pad):
    """[line][column] J/m: of the steady line that would get the place as hot; the weights are given, the sums are not."""
    near = case.echo_near
    reach = max(max(ahead + 1, (near << len(far)) - ahead) for ahead, _, far in case.echo)
    out = np.empty((case.lines, case.columns), np.float32)
    for line, row in enumerate(dots):
        back = case.two_way and line % 2
        sent = np.pad(row, max(0, reach - pad), mode="edge")
        sent = sent[::-1] if back else sent
        own = max(reach, pad)
        boxes = [np.convolve(sent, np.ones(near, np.float32))[:len(sent)]]
        for octave in range(1, len(case.echo[0][2])):
            width, half = near << (octave - 1), boxes[-1]
            box = half.copy()
            box[width:] += half[:-width]
            boxes.append(box)
        best = np.zeros(case.columns, np.float32)
        for ahead, taps, far in case.echo:
            at = own + ahead
            heard = np.float32(taps[0]) * sent[at:at + case.columns]
            for n in range(1, near):
                heard += np.float32(taps[n]) * sent[at - n:at - n + case.columns]
            for octave, weight in enumerate(far):
                width = near << octave
                heard += np.float32(weight / width) * boxes[octave][at - width:at - width + case.columns]
            np.maximum(best, heard, out=best)
        out[line] = best[::-1] if back else best
    return out


def warm_wall(case, dots, pad):
    """The wall's rise [K] under each line before it burns: a thin shell, spectral and exact in time on a grid of 1 mm,
    every line at its middle moment. What the program does beside, with true lags; here it stays below what counts."""
    around, axial = 229, 150
    turn, length = 2 * math.pi * case.radius, case.art[1] - case.art[0]
    columns = dots[:, pad:pad + axial * 20].reshape(case.lines, axial, 20).mean(2) * np.float32(case.wall_share)
    waves = np.arange(around // 2 + 1)[:, None] * (2 * math.pi / turn)
    along = np.arange(axial) * (math.pi / length)
    decay = np.exp(-(case.wall_diffusivity * (waves ** 2 + along ** 2) + case.wall_loss / case.wall_areal) * case.line_time)
    decay = decay.astype(np.float32)
    cosines = np.cos(np.outer(along, (np.arange(axial) + 0.5) * length / axial)).astype(np.float32)
    weight = np.where(np.arange(axial) == 0, 1, 2)[None, :] / axial
    half = np.where(np.arange(around // 2 + 1) == 0, 1, 2).astype(np.float32)
    phases = np.exp(1j * waves.ravel()[None, :] * (case.first_line + np.arange(case.lines) * case.spacing)[:, None])
    phases = phases.astype(np.complex64)
    sources = (columns @ cosines.T * weight / (case.wall_areal * turn)).astype(np.float32)  # [K] a mode
    state = np.zeros((around // 2 + 1, axial), np.complex64)
    rises = np.empty((case.lines, axial), np.float32)
    for n in range(case.lines):
        state *= decay
        rises[n] = ((phases[n] * half) @ state).real @ cosines
        state += np.outer(phases[n].conj(), sources[n])
    return rises


def meetings(case, reach=4.0):
    """Row, line, share [1/m] and warmth [K m/J] of every line within `reach` radii of a row, in the order of lines."""
    half, found = case.cell / case.radius / 2, []
    crosses = case.first_line + np.arange(case.lines) * case.spacing
    azimuths = (case.around_from + (np.arange(case.rows) + 0.5) * case.cell) / case.radius
    erf = np.vectorize(math.erf, otypes=[float])
    low = np.searchsorted(crosses, (azimuths - half) * case.radius - reach * case.across)
    high = np.searchsorted(crosses, (azimuths + half) * case.radius + reach * case.across)
    row = np.repeat(np.arange(case.rows), high - low)
    line = np.concatenate([np.arange(a, b) for a, b in zip(low, high)])
    turn = azimuths[row] - crosses[line] / case.radius
    near, far = (case.radius * np.sin(turn + s * half) / case.across for s in (-1, 1))
    share = 0.5 * (erf(math.sqrt(2) * far) - erf(math.sqrt(2) * near)) / case.cell
    share[share * case.across < 1e-6] = 0
    eta = np.maximum(0, np.abs(near + far) / 2 - (far - near) / 2) * case.nodes_a_radius
    heat = np.interp(eta, np.arange(len(case.warmth)), case.warmth)
    return row, line, share.astype(np.float32), heat.astype(np.float32)


def write(path, maps):
    with open(path, "wb") as file:
        for name in LAYERS:
            maps[name].tofile(file)


def main(predict):
    """twin CASE FILE: predicts and writes all layers; twin CASE --repeat N: prints the seconds of N predictions."""
    if sys.argv[2] != "--repeat":
        write(sys.argv[2], predict(read_case(sys.argv[1])))
        return
    times = []
    for _ in range(int(sys.argv[3]) + 1):
        start = time.perf_counter()
        maps = predict(read_case(sys.argv[1]))
        times.append(time.perf_counter() - start)
        del maps
    print(json.dumps(times[1:]))  # the first one compiles and warms up
