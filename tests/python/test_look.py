"""What it will look like, from Python. Truths: counts of dots, sizes, monotone curves, readers; the physics is in tests/look."""
import re
import subprocess
import sys

import h5py
import numpy as np
import pytest

import circumfluence as cf
from circumfluence import look
from conftest import ROOT, moments_meanwhile, write_png

# A QR code of version 1 that says FERNHOLLOW, as qrencode draws it.
QR = """
#######...##..#######
#.....#.##.##.#.....#
#.###.#..#.#..#.###.#
#.###.#...#...#.###.#
#.###.#.##..#.#.###.#
#.....#...#.#.#.....#
#######.#.#.#.#######
...........##........
#.#.#.#...##....#..#.
.#.#.#..#.....##.##..
.#.####.....#...###.#
#...##........##.##.#
.####.###.#.#.#......
........##.#.#....###
#######..#.#.####.#.#
#.....#....###.#..#..
#.###.#.##.#.####.###
#.###.#...#...#.#..#.
#.###.#.#.#.#...###.#
#.....#..##...###..##
#######.#.#.#.##.##.#
"""


@pytest.fixture()
def process(job):
    return look.Swatches(job, cell="20 um")


@pytest.fixture()
def mark(job):
    return cf.predict(job)


def ramp(width=64, height=32):
    return np.tile(np.linspace(0, 65535, width).round().astype(np.uint16), (height, 1))


@pytest.mark.parametrize("screen", look.SCREENS)
def test_halftones_keep_the_mean(screen):
    flat = np.full((64, 64), 0.7 * 65535, np.uint16)
    dots = look.halftone(flat, screen)
    assert dots.shape == (64, 64) and dots.dtype == np.uint8 and set(np.unique(dots)) == {0, 255}
    assert (dots == 0).mean() == pytest.approx(0.3, abs=0.02)  # black is burnt
    assert not dots.flags.writeable


def test_ordered_screens_have_every_rank():
    assert np.array_equal(np.sort(look.screen_ranks("bayer").ravel()), np.arange(64))
    assert np.array_equal(np.sort(look.screen_ranks("blue_noise").ravel()), np.arange(64 * 64))
    assert look.screen_ranks("stucki").size == 0


def test_pictures_come_as_arrays_images_and_files(folder):
    image = cf.read_image(folder / "art.png")
    bits = np.asarray(image.tone) > 32000
    ways = [look.halftone(way, "bayer") for way in (image, folder / "art.png", image.tone, (255 * bits).astype(np.uint8), bits)]
    for way in ways:
        assert np.array_equal(way == 255, bits)
    look.write_image(folder / "back.png", ways[0], pixel="0.1 mm")
    assert np.array_equal(cf.read_image(folder / "back.png").tone, image.tone)
    for wrong, why in ((np.zeros((4, 4)), "float64"), (np.zeros((4, 4, 3), np.uint8), "3"), (np.zeros((0, 4), np.uint8), "0")):
        with pytest.raises(ValueError, match=why):
            look.halftone(wrong)
    with pytest.raises(ValueError, match="blue_noise"):
        look.halftone(image, "red_noise")
    with pytest.raises(cf.FileError):
        look.halftone(folder / "nowhere.png")


def test_finishes(job):
    finish, unwiped = look.Finish(job), look.Finish(job, wiped=False)
    assert max(finish.ground.rgb) < 80 < min(finish.marked.rgb)  # black coat, bright metal
    assert sum(unwiped.marked.rgb) < sum(finish.marked.rgb)  # soot lies on it
    assert finish.of(0, outcome=0).rgb == finish.ground.rgb and finish.of("60 um").rgb == finish.marked.rgb
    assert finish.of("60 um", outcome=3).rgb == finish.over_burned.rgb
    assert min(finish.marked.at_gloss(off="0 deg")) > 1 > max(finish.ground.diffuse)
    with pytest.raises(ValueError):
        finish.of("1 um", outcome=4)
    contrast = look.contrast(job)
    assert contrast.lighter and contrast.gloss_least <= contrast.gloss
    rgb = [cf.lab_from_srgb(shade.rgb) for shade in (finish.ground, finish.marked)]
    assert contrast.diffuse == pytest.approx(cf.ciede2000(*rgb), abs=0.5)
    assert "lighter" in repr(contrast) and "#" in repr(finish)


def test_a_swatch(process):
    art = np.full((20, 20), 255, np.uint8)
    art[5:15, 5:15] = 0
    burnt = process.burn(art, pixel="0.1 mm")
    assert burnt.cell == pytest.approx(20e-6) and burnt.outcome.shape == burnt.changed.shape
    assert burnt.marked_share(("-0.3 mm", "0.3 mm", "-0.3 mm", "0.3 mm")) == 1
    assert burnt.marked_share(("0.7 mm", "1 mm", "-1 mm", "1 mm")) == 0
    marked = burnt.mean_shade((-0.3e-3, 0.3e-3, -0.3e-3, 0.3e-3))
    assert min(marked.diffuse) + min(marked.mirror) > 0.2
    assert burnt.picture().shape == (*burnt.outcome.shape, 3)
    assert not burnt.outcome.flags.writeable
    with pytest.raises(cf.ValidityError, match="pixel"):
        process.burn(art, pixel=0)
    with pytest.raises(ValueError, match="grey"):
        process.burn(art, pixel="0.1 mm", tone="loud")


def test_tone_curves(process):
    for curve in (look.tone_curve(process, screen=None, count=5), look.tone_curve(process, screen="bayer", dot="0.2 mm", count=5)):
        count = len(curve.shares)  # finer where lightness changes fast
        assert 5 <= count <= 10 and curve.shares[[0, -1]] == pytest.approx([0, 1]) and (np.diff(curve.shares) > 0).all()
        assert curve.lightness[-1] > curve.lightness[0] + 20 and curve.lab.shape == (count, 3)
        assert curve.reflectance == pytest.approx(np.where(curve.lightness > 8, ((curve.lightness + 16) / 116)**3,
                                                           curve.lightness / 903.3), abs=2e-3)
        assert (np.diff(curve.given) >= 0).all() and curve.steps > 2
        ways = curve.given_for([0, 0.5, 1])
        assert ways.shape == (3,) and curve.given_for(0.5) == ways[1] and (np.diff(ways) >= 0).all()
        assert curve.given_for("50 %") == ways[1]
        art = curve.corrected(ramp(), burns="light")
        assert art.dtype == np.uint16 and art.shape == (32, 64) and (np.diff(art[0].astype(int)) <= 0).all()
        assert np.array_equal(curve.corrected(65535 - ramp()), art)
    assert curve.screen == "bayer" and curve.dot == pytest.approx(0.2e-3) and "bayer" in repr(curve).lower()
    with pytest.raises(cf.ValidityError):
        look.tone_curve(process, count=1)
    with pytest.raises(cf.ValidityError):
        look.tone_curve(process, dot="1 um")
    with pytest.raises(TypeError, match="dots"):
        look.tone_curve(process, dots=3)


def test_corrected_art_comes_out_as_asked(process):
    """A tone half-way in lightness, burnt corrected as dots, is half-way on the part."""
    curve = look.tone_curve(process, screen="blue_noise", dot="0.1 mm", count=9)
    asked = np.full((64, 64), 32768, np.uint16)
    pane = ("-2.5 mm", "2.5 mm", "-2.5 mm", "2.5 mm")

    def lightness(art):
        shade = process.burn(look.halftone(art), pixel="0.1 mm").mean_shade(pane)
        light = np.array(shade.diffuse) + np.array(shade.mirror)
        y = light @ [0.2126, 0.7152, 0.0722]
        return 116 * y ** (1 / 3) - 16

    half = curve.lightness[[0, -1]].mean()
    assert lightness(curve.corrected(asked)) == pytest.approx(half, abs=3)
    assert abs(lightness(asked) - half) > 5  # uncorrected it is not


def test_smallest_and_letters(process):
    least = look.smallest(process)
    assert 20e-6 < least.dot < 2e-3 and 20e-6 < least.gap < 2e-3
    letters = look.lettering(process)
    assert letters.height == max(letters.made, letters.read) and letters.made > 2 * letters.stroke_across.drawn
    assert "capitals" in repr(letters)
    art = look.words("Fernhollow", height="2 mm", pixel="50 um")
    assert art.dtype == np.uint16 and 40 <= np.ptp(np.flatnonzero((art < 32768).any(axis=1))) + 1 <= 60


def test_symbols(mark, folder):
    assert look.find_symbols(folder / "art.png") == [] and mark.codes() == []


def test_a_code_is_graded(folder, job):
    grid = np.pad(np.array([[place == "#" for place in row] for row in QR.split()]), 4)
    tones = np.where(np.kron(grid, np.ones((8, 8), bool)), 0, 255).astype(np.uint8)
    write_png(folder / "code.png", tones)
    [found] = look.find_symbols(tones)
    assert found.text == "FERNHOLLOW" and found.kind == "QR code" and found.columns == found.rows == grid.shape[0] - 8
    assert np.array_equal(found.dark, grid[4:-4, 4:-4]) and found.corners.shape == (4, 2)
    [grade] = cf.predict(job.replace(file="code.png", size_axial="20 mm")).codes()
    assert grade.symbol.text == "FERNHOLLOW" and grade.overall in "ABCDF" and set(grade.grades) >= {"contrast", "modulation"}
    assert grade.reads or grade.reads_inverted
    assert grade.module_axial == pytest.approx(20e-3 / grid.shape[0], rel=0.02)


def test_the_part_in_the_round(mark):
    picture = mark.render(turn="20 deg", tilt=0, width=120, height=160, backdrop="#ffffff")
    assert picture.shape == (160, 120, 3) and picture.dtype == np.uint8
    assert (picture[0, 0] == 255).all() and picture[80, 60].max() < 120  # backdrop, black coat
    skin = mark.skin()
    assert np.array_equal(skin.render(turn="20 deg", tilt=0, width=120, height=160, backdrop=(255, 255, 255)), picture)
    assert np.array_equal(mark.render(turn=np.radians(20), tilt=0, width=120, height=160, backdrop="#ffffff"), picture)
    back = mark.render(turn="180 deg", tilt=0, width=120, height=160)
    assert back[80, 60].astype(int).sum() <= picture[80, 60].astype(int).sum() + 30
    with pytest.raises(cf.ValidityError):
        mark.render(width=0)
    with pytest.raises(TypeError, match="spin"):
        mark.render(spin=1)


def test_skins_hold_light(mark):
    skin = mark.skin(finest="0.1 mm")
    assert skin.diffuse.shape == skin.mirror.shape == (*skin.slope.shape, 3) and not skin.diffuse.flags.writeable
    flat = mark.flat(finest="0.1 mm")
    assert flat.shape[:2] == skin.slope.shape and np.array_equal(flat, skin.flat())
    light = (skin.diffuse + skin.mirror)[::-1].astype(float)
    level = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.clip(light, 0, 1) ** (1 / 2.4) - 0.055)
    assert np.abs(255 * level - flat).max() < 1.1
    sooty = mark.flat(wiped=False, finest="0.1 mm").astype(int)
    assert (sooty <= flat).all() and sooty.sum() < flat.sum()
    view = mark.skin().diffuse
    del mark, skin
    assert view.sum() > 0  # the view keeps its memory


def test_pages_and_solids(mark, tmp_path):
    mark.write_turning(tmp_path / "part.html", frames=4, width=60, height=80, title="A bottle & more", lines=["said <below>"])
    page = (tmp_path / "part.html").read_text()
    assert "A bottle &amp; more" in page and "said &lt;below&gt;" in page and not re.search(r'(src|href)="?https?:', page)
    mark.write_solid(tmp_path / "part.hdf", most=5000)
    with h5py.File(tmp_path / "part.hdf") as file:
        points = file["VTKHDF/Points"]
        assert 4 <= len(points) <= 5000
        radius = np.hypot(points[:, 1], points[:, 2])
        assert radius == pytest.approx(36.5, abs=1e-3)  # mm, on the part
        assert {"fluence", "changed", "outcome", "colour"} <= set(file["VTKHDF/PointData"])
    with pytest.raises(cf.FileError):
        mark.write_solid(tmp_path / "nowhere" / "part.hdf")
    with pytest.raises(cf.Interrupted):
        mark.write_turning(tmp_path / "stopped.html", frames=4, width=60, height=80, progress=lambda share: False)
    assert not (tmp_path / "stopped.html").exists()


def test_maps_that_were_not_kept_have_no_looks(job):
    with pytest.raises(cf.ValidityError, match="keep"):
        cf.predict(job, keep=False).render(width=40, height=40)


def test_everything_at_once(job):
    told = look.look(job, codes=False)
    assert told.contrast.diffuse > 20 and [curve.screen for curve in told.curves][0] is None and len(told.curves) == 2
    assert told.room is None and told.codes == [] and told.lettering.height > 0 and told.smallest.dot > 0
    assert told.map.outcome.size and isinstance(told.to_dict(), dict) and str(told).count("\n") > 3
    assert len(set(told.notes)) == len(told.notes)
    with pytest.raises(cf.Interrupted):
        look.look(job, progress=lambda share: share < 0.3)


def test_other_threads_run_meanwhile(job):
    assert moments_meanwhile(lambda: look.look(job, codes=False)) > 20


def test_ctrl_c(folder, job):
    program = (f"import os, signal, threading, circumfluence as cf\n"
               f"job = cf.read_job({str(folder / 'small.toml')!r})\n"
               "process = cf.look.Swatches(job, cell='4 um')\n"
               "threading.Timer(0.3, os.kill, (os.getpid(), signal.SIGINT)).start()\n"
               "try:\n    cf.look.tone_curve(process, count=257)\n"
               "except KeyboardInterrupt:\n    print('stopped')\n")
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=60)
    assert done.stdout == "stopped\n", done.stderr


def test_tone_curves_are_drawn(process):
    pytest.importorskip("matplotlib").use("Agg")
    axes = look.plot_tones([look.tone_curve(process, screen=None, count=5)])
    assert "power" in axes.get_legend().get_texts()[0].get_text()


def test_a_tool_path_has_no_process(job, folder):
    (folder / "path.nc").write_text("G21 G90\nM4 S1000\nG0 X86 Y0\nG1 X94 F2500\nM5\n")
    drawn = job.replace({"path.file": "path.nc", "path.full_power_word": 1000, "path.axial": "0 mm",
                         "machine.axial_acceleration": "500 mm/s^2", "machine.around_acceleration": "300 mm/s^2",
                         "machine.axial_speed": "6000 mm/min", "machine.around_speed": "4000 mm/min"})
    with pytest.raises(cf.ValidityError, match="path"):
        look.Swatches(drawn)


def test_letters_report_and_stop(process):
    shares = []
    look.lettering(process, progress=shares.append)
    assert shares[-1] == 1 and all(0 <= a <= b <= 1 for a, b in zip(shares, shares[1:]))
    with pytest.raises(cf.Interrupted):
        look.lettering(process, progress=lambda share: False)


def test_the_gallery_is_of_this_code(tmp_path):
    """A change detector: one picture is drawn anew; letters and edges may differ by the drawing library's version."""
    pytest.importorskip("matplotlib")
    image = pytest.importorskip("PIL.Image")
    gallery = ROOT / "docs/pictures/gallery"
    shown = re.findall(r"\]\(pictures/gallery/(\w+)\.png\)", (ROOT / "docs/gallery.md").read_text())
    assert len(shown) >= 8 and sorted(shown) == sorted(path.stem for path in gallery.glob("*.png"))
    assert all((gallery / f"{name}.png").stat().st_size < 200_000 for name in shown)
    subprocess.run([sys.executable, gallery / "make_gallery.py", "--into", tmp_path, "torch"], check=True)
    kept, made = (np.asarray(image.open(folder / "torch.png").convert("RGB"), float) for folder in (gallery, tmp_path))
    assert kept.shape == made.shape and np.abs(kept - made).mean() < 1
