"""Colour of a transparent film on an absorbing body, seen straight on under D65 by the 2-degree observer.

    R = |(r01 + r12 e^(2ib)) / (1 + r01 r12 e^(2ib))|^2,   b = 2 pi n d / lambda,   r = (Na - Nb)/(Na + Nb),   N = n + ik

Closed form of the Airy sum; the film has no dispersion unless `n` is given as a function of the wavelength [um].
visible.csv: CIE 1931 observer, D65 (CIE tables, 5 nm), n and k of the bodies (open refractive-index tables, CC0: Karlsson
& Ribbing 1982 austenitic steel, Johnson & Christy 1974 titanium and iron, Aspnes & Studna 1983 silicon), interpolated
linearly. Checked against an independent script: 40 nm of n = 2.3 on steel gives Lab (44.27, 19.69, -10.96).
"""

import csv
import math
import pathlib

import numpy as np

_ROWS = list(csv.DictReader(open(pathlib.Path(__file__).with_name("visible.csv"))))
_COLUMN = {name: np.array([float(row[name]) for row in _ROWS]) for name in _ROWS[0]}
WAVELENGTH = _COLUMN["lambda_nm"]  # [nm]
BODIES = ("steel", "titanium", "iron", "silicon")


def silica(wavelength):
    """Index of fused silica (Malitson 1965), wavelength [um]."""
    s = np.asarray(wavelength) ** 2
    return np.sqrt(1 + 0.6961663 * s / (s - 0.0684043**2) + 0.4079426 * s / (s - 0.1162414**2) + 0.8974794 * s / (s - 9.896161**2))


def reflectance(thickness, n, body, wavelength=None):
    """Share reflected at normal incidence; thickness [m]; wavelength [nm], all of the visible when None."""
    at = WAVELENGTH if wavelength is None else np.atleast_1d(wavelength)
    below = np.interp(at, WAVELENGTH, _COLUMN[body + "_n"]) + 1j * np.interp(at, WAVELENGTH, _COLUMN[body + "_k"])
    film = n(at / 1000) if callable(n) else np.full(at.shape, float(n))
    first, second = (1 - film) / (1 + film), (film - below) / (film + below)
    turn = np.exp(2j * 2 * math.pi * film * thickness * 1e9 / at)
    return np.abs((first + second * turn) / (1 + first * second * turn)) ** 2


def lab(thickness, n, body):
    """CIE L*a*b* relative to the D65 white."""
    seen = _COLUMN["D65"] * reflectance(thickness, n, body)
    white = [float(np.sum(_COLUMN["D65"] * _COLUMN[bar])) for bar in ("xbar", "ybar", "zbar")]
    x, y, z = (float(np.sum(seen * _COLUMN[bar])) / full for bar, full in zip(("xbar", "ybar", "zbar"), white))
    fx, fy, fz = (t ** (1 / 3) if t > (6 / 29) ** 3 else t * (29 / 6) ** 2 / 3 + 4 / 29 for t in (x, y, z))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def hue(colour):
    """Hue angle h_ab [degree], 0 to 360."""
    return math.degrees(math.atan2(colour[2], colour[1])) % 360


def srgb(colour):
    """sRGB (0 to 1 each) of a Lab colour, for plots."""
    fy = (colour[0] + 16) / 116
    f = (fy + colour[1] / 500, fy, fy - colour[2] / 200)
    x, y, z = (w * (t**3 if t > 6 / 29 else 3 * (6 / 29) ** 2 * (t - 4 / 29)) for w, t in zip((0.95047, 1.0, 1.08883), f))
    linear = (3.2404542 * x - 1.5371385 * y - 0.4985314 * z, -0.969266 * x + 1.8760108 * y + 0.041556 * z,
              0.0556434 * x - 0.2040259 * y + 1.0572252 * z)
    return tuple(min(1.0, max(0.0, 12.92 * c if c <= 0.0031308 else 1.055 * c ** (1 / 2.4) - 0.055)) for c in linear)
