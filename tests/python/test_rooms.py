"""Every stage on its own. Truths: closed forms and ../../validation for published values."""
import numpy as np
import pytest

import circumfluence as cf


def test_units():
    assert cf.quantity("2500 mm/min", "mm/s") == pytest.approx(2.5 / 60)
    assert cf.quantity(0.5, "mm") == 0.5
    with pytest.raises(cf.JobError, match="a length"):
        cf.quantity("3 mm", "W")


def test_what_is_no_quantity_is_refused():
    for wrong in (True, None, object()):
        with pytest.raises(TypeError, match="quantity"):
            cf.quantity(wrong, "mm")


def test_fresnel_broadcasts():
    s, p = cf.fresnel(n=1.678, k=3.117, incidence=np.cos(np.radians([0, 60])))
    assert s == pytest.approx([0.3974, 0.2196], abs=1e-4) and p == pytest.approx([0.3974, 0.5992], abs=1e-4)


def test_caustic_is_iso_11146():
    c = cf.caustic(wavelength="450 nm", spot_axial="40 um", spot_around="120 um", m2_axial=4, m2_around=12)
    heights = np.array([0.0, 0.5e-3, 1e-3, 2e-3])
    assert c.axial.radius_at(heights) == pytest.approx([20e-6, 24.6003e-6, 34.9385e-6, 60.6861e-6], rel=1e-5)
    assert c.around.radius_at("1 mm") == pytest.approx(66.4884e-6, rel=1e-5)


def test_workpiece_geometry():
    p = cf.workpiece(shape="tapered", length="100 mm", diameter="80 mm", end_diameter="60 mm", wall="1 mm")
    assert p.radius([0.0, 0.1]) == pytest.approx([0.04, 0.03])
    at = p.at(0.05, np.radians([0, 60]))
    assert at["height"] == pytest.approx([0.035, 0.0175])
    assert at["incidence"] == pytest.approx(np.array([1, 0.5]) / np.hypot(1, 0.1))
    assert cf.sagitta("20 mm", "10 mm") == pytest.approx(2.679492e-3, rel=1e-6)
    with pytest.raises(cf.ValidityError):
        cf.sagitta("20 mm", "21 mm")


@pytest.mark.parametrize("order", [2, 4, 10])
def test_spot_profile_keeps_power_and_second_moment(order):
    t = np.linspace(-4, 4, 200001)
    p = cf.SpotProfile(order).density(t)
    assert np.trapz(p, t) == pytest.approx(1, abs=1e-7)
    assert np.trapz(p * t**2, t) == pytest.approx(0.25, abs=1e-7)


def test_heat_and_kirchhoff():
    steel = dict(conductivity=16.2, diffusivity=16.2 / (7900 * 500), along="40 um", across="40 um")
    assert cf.peak(speed="100 mm/s", **steel)[0] == pytest.approx(523.06872, rel=1e-6)
    x = np.array([-40e-6, 40e-6])
    assert cf.rise(speed=41.667e-3, x=x, **steel) == pytest.approx([279.274241, 212.167327], rel=1e-6)
    linear = cf.linear_rise(at_start=12.857, slope=0.01618, rise=np.array([100.0, 900.0]))
    assert cf.true_rise(at_start=12.857, slope=0.01618, linear=linear) == pytest.approx([100, 900])


def test_materials():
    assert {"al_6061", "aisi_304", "polyester_powder_black"} <= set(cf.materials())
    steel = cf.material("aisi_304")
    assert steel.solidus.value == pytest.approx(1673, abs=5) and steel.solidus.source
    assert steel.optics_at("450 nm").absorptivity.value == pytest.approx(0.397, abs=0.005)
    with pytest.raises(cf.JobError, match="aisi_304"):
        cf.material("aisi_305")
    with pytest.raises(cf.ValidityError, match="520 nm"):
        steel.optics_at("520 nm")


def test_image_is_a_view_that_keeps_its_owner(folder):
    tone = cf.read_image(str(folder / "art.png")).tone
    assert tone.shape == (60, 80) and tone.dtype == np.uint16 and not tone.flags.writeable
    assert tone[15, 20] == 0 and tone[0, 0] == 65535
    with pytest.raises(cf.FileError, match="nothing.png"):
        cf.read_image(str(folder / "nothing.png"))


def test_sweep_against_kinematics():
    s = cf.Sweep(run_up="3 mm", length="94 mm", speed="50 mm/s", acceleration="1000 mm/s^2")
    assert s.distance == pytest.approx(0.1) and s.steady
    assert s.duration == pytest.approx(0.1 / 0.05 + 0.05 / 1.0)
    assert s.speed_at([0.0, 0.0005, 0.05]) == pytest.approx([0, np.sqrt(2 * 1 * 0.0005), 0.05])


def test_stages_follow_one_another(job):
    scene = cf.prepare(job)
    surface = cf.develop(scene)
    raster = cf.plan(scene)
    exposure = cf.expose(scene, surface, raster)
    model = cf.respond(scene, exposure)
    assert surface.shape == (len(surface.around), len(surface.axial))
    assert raster.lines == 60 and model.body == "coated"
    assert exposure.states[0].speed == pytest.approx(2.5 / 60)
    # Conservation: what falls on the surface is what the lines carry (8 x 6 mm art at 0.1 mm, 16.25 % black).
    fluence = exposure.fluence(surface)
    energy = (fluence.astype(float) * surface.cell_area).sum()
    black = (10 * 60 + 20 * 20) / (60 * 80)
    assert energy == pytest.approx(7.5 / (2.5 / 60) * 60 * 8e-3 * black, rel=1e-4)
    assert np.array_equal(fluence, cf.fluence(job))
