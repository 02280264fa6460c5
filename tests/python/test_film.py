"""Truth: Airy's sum written here with NumPy, and colours of oxide on steel worked out independently."""

import pathlib
import sys

import numpy as np
import pytest

import circumfluence as cf

VALIDATION = pathlib.Path(__file__).resolve().parents[2] / "validation"


def test_reflectance_is_airys_sum():
    film, body, thickness, wavelength = 2.3 + 0.05j, 2.0 + 3.6j, 70e-9, 550e-9
    first, second = (1 - film) / (1 + film), (film - body) / (film + body)
    turn = np.exp(4j * np.pi * film * thickness / wavelength)
    share = abs((first + second * turn) / (1 + first * second * turn)) ** 2
    assert cf.film_reflectance(film=film, body=body, thickness=thickness, wavelength=wavelength) == pytest.approx(share, abs=1e-12)
    assert cf.film_reflectance(film=1.5, body=1.5, thickness=0.0, wavelength=wavelength) == pytest.approx(0.04, abs=1e-12)
    assert cf.film_reflectance(1.5, body, 0.0, wavelength, incidence=1e-9) == pytest.approx(1, abs=1e-6)


def test_colours_of_oxide_on_steel():
    assert cf.film_lab("aisi_316", thickness=40e-9) == pytest.approx((44.27, 19.69, -10.96), abs=0.05)
    assert cf.film_lab("aisi_316", thickness=40e-9, film=2.3) == pytest.approx((44.27, 19.69, -10.96), abs=0.05)
    even, uneven = (cf.film_lab("aisi_304", thickness=160e-9, uneven=u) for u in (0.0, 0.25))
    assert np.hypot(*uneven[1:]) < 0.5 * np.hypot(*even[1:])


def test_without_a_spectrum():
    with pytest.raises(cf.ValidityError, match="spectrum of birch"):
        cf.film_lab("birch", thickness=0.0)


def test_library_and_the_book_of_validation_see_the_same():
    """Two programs, one physics: the twin reads its n and k from a table of its own."""
    sys.path.insert(0, str(VALIDATION / "measured" / "sio2_on_silicon"))
    import film_colour
    for record, body in (("aisi_304", "steel"), ("titanium_grade_2", "titanium"), ("mild_steel", "iron")):
        for thickness in (0.0, 15e-9, 35e-9, 60e-9, 150e-9):
            twin = film_colour.lab(thickness, 2.4, body)
            assert cf.film_lab(record, thickness=thickness, film=2.4) == pytest.approx(twin, abs=0.05), (record, thickness)
