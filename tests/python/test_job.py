"""Jobs from Python: read, altered, built, pickled; errors with their place."""
import math
import pickle

import pytest

import circumfluence as cf


def test_addresses_and_values(job):
    assert job["scan.power"] == "75 %"
    assert job["speed"] == "2500 mm/min"
    assert "scan.power" in cf.addresses()
    assert job.section("workpiece")["base"] == job.workpiece["base"] == "al_6061"
    assert hash(job) == hash(job.replace()) and job.replace({"scan.passes": "2"}) != job
    assert "al_6061" in repr(job)


def test_replace_takes_text_and_si_and_keeps_the_original(job):
    other = job.replace(power="60 %", speed=0.05)
    assert other["scan.power"] == "60 %" and cf.quantity(other["scan.speed"], "mm/s") == pytest.approx(0.05)
    assert job["scan.power"] == "75 %"
    assert job.replace({"scan.power": 6.0})["scan.power"] == "6 W"
    assert job.replace(two_way=False)["scan.two_way"] == "false"


def test_replace_refuses_what_cannot_be(job):
    with pytest.raises(cf.JobError, match="scan.power"):
        job.replace(power="20 m")
    with pytest.raises(cf.JobError, match="Did you mean"):
        job.replace(pwoer="20 W")
    with pytest.raises(cf.JobError, match="rated_power"):
        job.replace(power="20 W")


def test_errors_carry_their_place(job):
    with pytest.raises(cf.JobError) as caught:
        cf.parse_job(job.text.replace('power = "75 %"', "power = 75"))
    assert caught.value.line == job.text[: job.text.index("power = \"75")].count("\n") + 1
    assert caught.value.column == 9 and "without a unit" in caught.value.problem
    assert isinstance(caught.value, ValueError)


def test_pickle_keeps_the_job(job):
    again = pickle.loads(pickle.dumps(job))
    assert again == job and again.folder == job.folder
    altered = job.replace(power="60 %")
    assert pickle.loads(pickle.dumps(altered)) == altered


def test_built_from_dictionaries_is_the_same_job(job):
    sections = {}
    for address in cf.addresses():
        section, key = address.split(".")
        if job[address]:
            sections.setdefault(section, {})[key] = job[address]
    assert cf.job(job.folder, **sections) == job


def test_profile_rows_can_be_built(job):
    stepped = job.replace(shape="stepped", profile=[["0 mm", "73 mm"], ["60 mm", "70 mm"]])
    assert cf.prepare(stepped).profile.radius("80 mm") == pytest.approx(0.035)


def test_a_key_alone_is_that_of_the_sections_every_job_has(job):
    # Truth: the rule of docs/python.md; [path] has keys of those names, too.
    assert cf.quantity(job.replace(turn="90 deg")["artwork.turn"], "deg") == pytest.approx(math.pi / 2)
    assert job["axial"] == job["artwork.axial"] and job["file"] == job["artwork.file"]
    assert job.replace(motor_steps=200)["rotary.motor_steps"] == job.replace({"rotary.motor_steps": 200})["motor_steps"]
