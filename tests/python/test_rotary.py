"""Truth: gears and wheels by hand, closed forms of school geometry, normal sums; the program says the same."""
import math
import subprocess

import numpy as np
import pytest

import circumfluence as cf

ROLLERS = {"rotary.drive": "rollers", "rotary.motor_steps": 200, "rotary.microsteps": 16, "rotary.reduction": 2.5,
           "rotary.roller_diameter": "30 mm", "rotary.roller_gap": "20 mm"}
CHUCK = {"rotary.drive": "chuck", "rotary.motor_steps": 200, "rotary.microsteps": 16, "rotary.reduction": 2}
TURN = 200 * 16 * 2.5


@pytest.fixture()
def rollers(job):
    return job.replace(ROLLERS)


@pytest.fixture()
def chuck(job):
    return job.replace(CHUCK)


def test_rollers_turn_by_their_own_circumference(rollers):
    found = cf.steps(rollers)
    assert found.a_turn == TURN and found.travel == pytest.approx(math.pi * 0.03)
    assert found.exact == pytest.approx(TURN / (math.pi * 0.03)) and found.smallest == pytest.approx(1 / found.exact)
    assert found.stored == pytest.approx(1e3 * round(found.exact / 1e3, 3))
    assert cf.steps(rollers, decimals=0).stored == pytest.approx(1e3 * round(found.exact / 1e3))
    assert cf.steps(cf.prepare(rollers), diameter="50 mm").exact == found.exact and "8000 a turn" in repr(found)


def test_a_chuck_turns_by_angle(chuck):
    assert cf.steps(chuck).exact == pytest.approx(6400 / (math.pi * 0.073))
    tube = cf.diameter_round("157 mm", thickness="0.1 mm")
    assert cf.steps(chuck, diameter=tube).exact == pytest.approx(6400 / (math.pi * tube.value))
    with pytest.raises(cf.JobError, match="rotary.motor_steps is missing"):
        cf.steps(chuck.replace({"rotary.motor_steps": 0}))


def test_a_bottle_lies_between_its_rollers(rollers):
    seat = cf.seat(rollers)
    assert seat.above == pytest.approx(math.sqrt((0.0365 + 0.015)**2 - 0.025**2)) and seat.tilt == 0 and seat.walk == 0
    assert math.isnan(seat.contact) and math.sin(seat.angle) == pytest.approx(25 / 51.5)
    taper = rollers.replace({"workpiece.shape": "tapered", "workpiece.end_diameter": "55 mm", "rotary.contact": "90 mm"})
    tipped = cf.seat(taper)
    assert tipped.radius == pytest.approx(0.032) and tipped.tilt < 0 and tipped.walk != 0
    with pytest.raises(cf.JobError, match="falls through"):
        rollers.replace({"rotary.roller_gap": "80 mm"})


def test_a_turn_closes_but_for_what_is_wrong(rollers, chuck):
    exact = cf.closure(rollers)
    assert abs(exact.sum.value) <= 0.5 / cf.steps(rollers).exact + 1e-9 * 0.23 + 229e-3 * 5e-6 and exact.sum.spread == 0
    wrong = cf.closure(rollers, entered="73 mm", diameter="73.2 mm", diameter_spread="0.16 mm")
    assert wrong.diameter.value == pytest.approx(math.pi * 0.2e-3) and wrong.diameter.spread == pytest.approx(math.pi * 0.16e-3)
    assert wrong.sum.value == pytest.approx(sum(getattr(wrong, cause).value for cause in
                                                ("diameter", "whole_steps", "set_steps", "slip", "backlash")))
    z = [(sign * 1e-3 - wrong.sum.value) / wrong.sum.spread for sign in (1, -1)]
    assert wrong.chance("1 mm") == pytest.approx((math.erf(z[0] / 2**0.5) - math.erf(z[1] / 2**0.5)) / 2)
    assert cf.closure(chuck, entered="73 mm", diameter="75 mm").diameter.value == 0  # closes however wrong it is
    assert cf.closure(chuck.replace({"rotary.set_steps": "25 1/mm"})).sum.value == pytest.approx(
        math.pi * 0.073 * (1 - 25 * math.pi * 73 / 6400), abs=20e-6)


def test_a_measured_diameter_brings_its_spread(rollers):
    measured = cf.diameter_round("229.5 mm", reading="0.5 mm", thickness="0.1 mm")
    assert measured.value == pytest.approx(0.2295 / math.pi - 1e-4) and measured.spread == pytest.approx(0.5e-3 / math.pi)
    seam = cf.closure(rollers, entered="73 mm", diameter=measured)
    assert seam.diameter.spread == pytest.approx(0.5e-3)
    assert cf.closure(rollers, diameter=measured, diameter_spread="1 mm").diameter.spread == pytest.approx(math.pi * 1e-3)
    assert float(measured) == measured.value and "72.952" in str(measured) and "give or take 0.16 mm" in repr(measured)


def test_slip_is_in_the_driven_diameter_already(rollers):
    slips = rollers.replace({"rotary.slip": "1 %", "rotary.slip_spread": "0.2 %"})
    own = cf.closure(slips, entered=2 * cf.prepare(slips).reference_radius)
    assert abs(own.sum.value) < 30e-6 and own.sum.spread == pytest.approx(0.002 * math.pi * 0.073 / 0.99, rel=1e-3)
    assert cf.closure(slips).slip.value == pytest.approx(0.01 * math.pi * 0.073, rel=1e-3)


def test_trials():
    right = cf.correction(asked="100 mm", got="97.4 mm", reading="0.25 mm", set_steps="80 1/mm")
    assert right.steps.value == pytest.approx(80e3 * 100 / 97.4) and right.art_scale.value == pytest.approx(100 / 97.4)
    assert right.left == pytest.approx(0.25 / 97.4) and "1/mm" in repr(right)
    bare = cf.correction(asked="100 mm", got="97.4 mm")
    assert bare.steps is None and bare.art_scale.spread == pytest.approx(100 / 97.4 * 0.2 / 97.4)
    slip = cf.slip_of(["2.2 mm", "2.4 mm"], turns=2, diameter="73 mm")
    assert slip.value == pytest.approx(2.3e-3 / (2 * math.pi * 0.073)) and "%" in repr(slip)
    assert cf.slip_of(np.array([2.2e-3, 2.4e-3]), turns=2, diameter=0.073).value == slip.value
    high = cf.slip_of(["2.2 mm", "2.4 mm"], turns=2, diameter="73 mm", steps=1.002)  # they turn it on by 0.2 %
    assert high.value == pytest.approx(1 - (1 - slip.value) / 1.002)
    wide = cf.slip_of("2.3 mm", turns=2, diameter=cf.diameter_across(["72.8 mm", "73.2 mm"]))
    assert wide.spread == pytest.approx(math.hypot(0.2e-3 / (2 * math.pi * 0.073), 0.2 * 2**0.5 / 73 / 2**0.5), rel=0.5)
    assert cf.backlash_of(["0.11 mm", "0.15 mm"], reading="0.01 mm").value == pytest.approx(0.13e-3)
    for bad in (dict(asked="100 mm", got=0.0), dict(asked="100 mm", got="97 mm", reading=-1.0)):
        with pytest.raises(cf.ValidityError):
            cf.correction(**bad)
    with pytest.raises(cf.ValidityError, match="no readings"):
        cf.backlash_of([])
    with pytest.raises(cf.JobError, match="a length"):
        cf.diameter_round("3 W")


def test_backlash_and_lines_of_both_ways(rollers):
    both = rollers.replace({"rotary.backlash": "0.04 mm", "rotary.backlash_spread": "0.02 mm"})
    assert cf.chance_in_step(both) == pytest.approx(0.5 * (1 + math.erf(0.5 / 2**0.5)))  # half of 0.1 mm
    assert cf.chance_in_step(both, spacing="0.2 mm") == pytest.approx(0.5 * (1 + math.erf(3 / 2**0.5)))
    with pytest.raises(cf.JobError, match="rotary.backlash is missing"):
        cf.chance_in_step(rollers)


def test_a_cap_that_rides_on_a_wider_body(job):
    cap = job.replace({"workpiece.shape": "stepped", "workpiece.profile": [["0 mm", "50 mm"], ["40 mm", "73 mm"]],
                       "artwork.axial": "20 mm", **ROLLERS})
    (band,) = cf.bands(cap)
    assert band.radius == pytest.approx(0.025) and band.scale_around == pytest.approx(73 / 50) and band.scale_axial == 1
    both = cf.bands(cap, axial_from="10 mm", axial_to="60 mm")
    assert [b.axial_to for b in both] == pytest.approx([0.04, 0.06]) and both[1].scale_around == pytest.approx(1)


def test_which_way_round(job):
    plain = cf.landing(job)
    assert not plain.mirrored and "growing axial positions" in plain.words
    mount = {"mount.mouth": "end", "mount.mouth_faces": "right", "mount.axial_feed": "left", "mount.around_feed": "back"}
    turned = cf.landing(job.replace(mount))
    assert turned.mirrored and "\n".join(turned.letter) in str(turned) and len(turned.letter) == 7
    assert not cf.landing(job.replace({**mount, "artwork.mirror": "axial"})).mirrored
    with pytest.raises(cf.JobError, match="All four|all four"):
        cf.landing(job.replace({"mount.mouth": "end", "mount.mouth_faces": "right"}))


def test_the_program_says_the_same(build, rollers, folder):
    job = rollers.replace({"rotary.set_steps": "85 1/mm", "rotary.slip": "1 %", "rotary.slip_spread": "0.2 %"})
    (folder / "rollers.toml").write_text(job.text)
    done = subprocess.run([build / "bin/circumfluence", "rotary", folder / "rollers.toml", "--round", "229.5 mm", "--asked", "100 mm",
                           "--got", "97.4 mm"], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    for figure in (cf.format(cf.steps(job).stored, "1/mm", 8), cf.format(cf.correction(asked="100 mm", got="97.4 mm").art_scale.value, "1", 5),
                   cf.format(cf.closure(job).sum.value, "mm", 3), cf.format(cf.seat(job).above, "mm", 4),
                   cf.format(cf.diameter_round("229.5 mm", reading="0.2 mm").value, "mm", 5), cf.landing(job).words):
        assert figure.split(" ")[0] in done.stdout


def test_bad_input(job):
    with pytest.raises(TypeError, match="a Job or a prepared Scene"):
        cf.steps("bottle.toml")
    with pytest.raises(TypeError, match="'diametre'"):
        cf.closure(job, diametre="73 mm")
