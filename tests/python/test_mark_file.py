"""The file of record in the hands of h5py, xarray, netCDF4 and ncdump.

Truth: those programs. The file is CIRCUMFLUENCE_MARK_FILE, or the one that a fixture `mark_file` makes; the kept
sample of each format version is always checked.
"""

import os
import pathlib
import shutil
import subprocess

import h5py
import netCDF4
import pytest

xr = pytest.importorskip("xarray")

import circumfluence as cf  # noqa: E402
from mark_file_checks import check_mark_file  # noqa: E402

SAMPLES = sorted((pathlib.Path(__file__).parent.parent / "mark" / "samples").glob("version_*.h5"))


@pytest.fixture(params=["fresh", *SAMPLES], ids=lambda p: getattr(p, "name", p))
def path(request):
    if request.param != "fresh":
        return request.param
    if "CIRCUMFLUENCE_MARK_FILE" in os.environ:
        return os.environ["CIRCUMFLUENCE_MARK_FILE"]
    try:
        return request.getfixturevalue("mark_file")
    except pytest.FixtureLookupError:
        pytest.skip("no CIRCUMFLUENCE_MARK_FILE and no fixture mark_file")


def test_opens_everywhere_with_labels_and_units(path):
    check_mark_file(path)


def test_netcdf_tools_can_add_to_it(path, tmp_path):
    copy = tmp_path / "map.h5"
    shutil.copy(path, copy)
    with netCDF4.Dataset(copy, "a") as file:
        file.createVariable("note", "f4", ("axial",))[:] = 1.0
    with h5py.File(copy) as file:
        assert file["note"].dims[0][0] == file["axial"]


@pytest.mark.skipif(shutil.which("h5dump") is None, reason="hdf5-tools is not installed")
def test_hdf5s_own_program_reads_every_value(path):
    done = subprocess.run(["h5dump", "-y", str(path)], capture_output=True, text=True)
    assert done.returncode == 0 and done.stderr == ""


def test_a_lost_axis_is_noticed(path, tmp_path):
    copy = tmp_path / "map.h5"
    shutil.copy(path, copy)
    with h5py.File(copy, "a") as file:
        file["fluence"].dims[1].detach_scale(file["axial"])
    with pytest.raises(Exception):
        check_mark_file(copy)


def test_the_wall_opens_with_labels_and_units():
    path = pathlib.Path(__file__).parent.parent / "mark" / "samples" / "version_2.h5"
    for engine in ("h5netcdf", "netcdf4"):
        with xr.open_dataset(path, group="wall", engine=engine) as ds:
            assert ds["temperature"].dims == ("around", "axial") and ds["temperature"].attrs["units"] == "K"
            assert ds["around"].attrs["units"] == ds["axial"].attrs["units"] == "m"
    wall = cf.open_mark(path).wall
    assert wall.temperature.shape == (len(wall.around), len(wall.axial)) and not wall.temperature.flags.writeable
