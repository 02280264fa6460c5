"""How a setting answers to height: closed forms from Python, arrays, the program's own words, errors."""
import json
import math
import subprocess

import numpy as np
import pytest

import circumfluence as cf


def test_arrays_over_height(job):
    found = cf.focus_study(job, draws=0)
    assert found.height.shape == (81,) and found.height[40] == 0 and not found.width.flags.writeable
    assert np.allclose(found.across, 40e-6 * np.hypot(1, found.height / 2e-3))
    # A F(y) = F_th + e c: the removal law, solved for the width
    coat = cf.material("polyester_powder_black")
    for i in range(0, 81, 20):
        w = found.across[i]
        least = cf.threshold(coat, start="20 degC", dwell=w / found.speed) + 3.3e9 * 0.98 * 60e-6
        centre = 0.95 * math.sqrt(2 / math.pi) * 7.5 / (found.speed * w)
        assert found.width[i] == pytest.approx(2 * w * math.sqrt(0.5 * math.log(centre / least)), abs=5e-3 * w)
    assert np.allclose(found.least_factor, found.marks / 7.5) and np.all(found.ruling == 2)
    assert np.allclose(found.marks, found.marks[::-1]) and found.likely is None and math.isnan(found.used_likely)
    assert np.isnan(found.chance_good).all()
    assert np.all((found.spacing >= 1e-4) == (found.ruling == 2))


def test_rooms_and_moves(job):
    set_up = job.replace(runout="0.3 mm", focus_offset="0.5 mm")
    found = cf.focus_study(set_up, ovality="0.4 mm", sag=2e-4, draws=16, chance="60 %")
    assert found.moves["runout"] == pytest.approx((3e-4, 3e-4)) and found.moves["form"] == (0, 0)
    assert found.moves["ovality"] == pytest.approx((1e-4, 1e-4)) and found.moves["total"] == pytest.approx((6e-4, 6e-4))
    room = found.nominal
    assert room.holds and room.own == -5e-4 and room.highest == pytest.approx(4e-3) and room.highest_fault == "range"
    assert room.up - room.down == pytest.approx(1e-3)
    assert found.used == pytest.approx(6e-4 / 3.5e-3)
    assert found.used_likely >= found.used and found.likely.holds and "HeightRoom" in repr(found.likely)
    tight = cf.focus_study(job.replace(power="12 %"), draws=0)
    assert not tight.nominal.holds and tight.nominal.lowest_fault == "too little" and math.isinf(tight.used)


def test_chances_follow_the_seed(job):
    heights = np.linspace(-1e-3, 1e-3, 5)
    one, again = (cf.focus_study(job, heights, draws=32, seed=4) for _ in range(2))
    other = cf.focus_study(job, heights, draws=32, seed=5)
    assert np.array_equal(one.chance_good, again.chance_good) and not np.array_equal(one.chance_good, other.chance_good)
    assert np.all(one.chance_good <= np.minimum(one.chance_marks, one.chance_spares) + 1e-12)
    assert np.all(np.abs(one.chance_good - other.chance_good) < 0.15)


def test_advice_taken_is_what_was_promised(job):
    found = cf.focus_study(job, draws=32)
    best = found.coarsest
    assert best.focus_offset == pytest.approx(4e-3) and best.other == pytest.approx(-4e-3) and best.at_the_end
    assert 0 < best.safe_spacing < best.spacing and best.duration < best.safe_duration < found.duration
    at = dict(focus_offset=cf.format(best.focus_offset, "mm", 9))
    closes = cf.focus_study(job.replace(at, spacing=0.999 * best.spacing), [-best.focus_offset], draws=0)
    open_ = cf.focus_study(job.replace(at, spacing=1.001 * best.spacing), [-best.focus_offset], draws=0)
    assert (closes.ruling[0], open_.ruling[0]) == (2, 1)


def test_dataset_and_picture(job, tmp_path):
    pytest.importorskip("xarray")
    found = cf.focus_study(job, draws=16)
    data = found.to_xarray()
    assert data.width.attrs["units"] == "m" and data.sizes == {"height": 81}
    assert float(data.chance_good.sel(height=0, method="nearest")) == found.chance_good[40]
    assert "chance_good" not in cf.focus_study(job, draws=0).to_xarray()
    found.write_picture(str(tmp_path / "focus.png"), "bottle")
    assert (tmp_path / "focus.png").read_bytes().startswith(b"\x89PNG")
    assert "tolerance" in str(found) and "81 heights, marks as set" in repr(found)


def test_bad_input(job):
    for arguments, words in [(dict(heights=[]), "0 of them"), (dict(heights=[1e-3, 0]), "rising"),
                             (dict(heights=[math.nan]), "finite"), (dict(chance=2), "chance"), (dict(sag="-1 mm"), "sag"),
                             (dict(ovality=-1e-3), "ovality"), (dict(draws=1), "draws = 1"), (dict(draws=-3), "draws")]:
        with pytest.raises(cf.ValidityError, match=words):
            cf.focus_study(job, **arguments)
    with pytest.raises(cf.JobError, match="a length"):
        cf.focus_study(job, sag="3 W")
    with pytest.raises(TypeError):
        cf.focus_study(job, heights=[[1e-3]])
    with pytest.raises(cf.Interrupted):
        cf.focus_study(job, progress=lambda share: False)


def program(build, folder, *options):
    where = () if "--folder" in options else ("--folder", folder)
    command = [build / "bin/circumfluence", "focus", folder / "small.toml", *where, *options]
    return subprocess.run(command, capture_output=True, text=True)


def test_the_program_says_the_same(build, job, folder):
    ours = cf.focus_study(job, ovality="0.4 mm", draws=16)
    done = program(build, folder, "--ovality", "0.4 mm", "--draws", "16", "--json")
    said = json.loads(done.stdout)
    assert done.returncode == 0 and done.stderr == "" and said["cautions"]
    for name in ("width", "marks", "chance_good"):
        assert np.allclose(said["heights"][name], getattr(ours, name))
    assert said["coarsest"]["safe_spacing"] == pytest.approx(ours.coarsest.safe_spacing, rel=1e-6)
    assert said["moves"]["total"]["up"] == pytest.approx(1e-4) and said["nominal"]["used"] == pytest.approx(ours.used)
    assert (folder / "small.focus.png").exists()
    words = program(build, folder, "--no-pictures", "--no-chances", "--sag", "0.2 mm").stdout
    for part in ("tolerance", "sag +-0.2 mm", "coarsest", "caution    Class 4"):
        assert part in words
    assert "picture" not in words and "at 95 %" not in words


def test_the_program_refuses(build, job, folder):
    assert program(build, folder, "--chance", "1.5").returncode == 2
    bare = program(build, folder, "--ovality", "12")
    assert bare.returncode == 3 and "--ovality" in bare.stderr
    assert program(build, folder, "--range", "0 mm").returncode == 3
    assert program(build, folder, "--sag", "-1 mm").returncode == 5
    assert program(build, folder, "--draws", "2", "--folder", "/nowhere").returncode == 4
