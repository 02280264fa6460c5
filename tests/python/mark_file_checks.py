"""What a file of record must look like to the tools people open it with."""

import subprocess

import h5py
import netCDF4
import numpy as np
import xarray as xr

ENGINES = ("h5netcdf", "netcdf4")
MAPS = {
    "fluence": ("J/m^2", np.float32),
    "changed": ("m", np.float32),
    "peak_temperature": ("K", np.float32),
    "margin": ("1", np.float32),
    "outcome": ("1", np.uint8),
    "wanted": ("1", np.uint8),
}
COORDINATES = {
    "around": ("around", "m"),
    "axial": ("axial", "m"),
    "angle": ("around", "degree"),
    "radius": ("axial", "m"),
}


def maps_of(path):
    """The maps of a file by its version: 1 called "changed" "removed"."""
    with h5py.File(path, "r") as file:
        old = int(file.attrs["format_version"][0]) < 2
    return {("removed" if old and name == "changed" else name): info for name, info in MAPS.items()}


def check_mark_file(path):
    """Opens the file with h5py, xarray (both engines), netCDF4 and ncdump; raises AssertionError."""
    path = str(path)
    check_h5py(path)
    for engine in ENGINES:
        check_xarray(path, engine)
    check_engines_agree(path)
    check_netcdf4(path)
    check_ncdump(path)


def check_h5py(path):
    maps = maps_of(path)
    with h5py.File(path, "r") as file:
        assert set(file) >= {*COORDINATES, *maps, "record", "summary"}
        for name, (unit, kind) in maps.items():
            data = file[name]
            assert data.dtype == kind, name
            assert data.attrs["units"].decode() == unit, name
            for i, axis in enumerate(("around", "axial")):
                assert list(data.dims[i].keys()) == [axis], name
                assert data.dims[i][0] == file[axis], name
                assert data.shape[i] == file[axis].shape[0], name
            data[...]
        for name, (_, unit) in COORDINATES.items():
            assert file[name].dtype == np.float64, name
            assert file[name].attrs["units"].decode() == unit, name
        for axis in ("around", "axial"):
            assert h5py.h5ds.is_scale(file[axis].id), axis
        assert "=" in file["record"].attrs["job"].decode()
        assert int(file.attrs["format_version"][0]) >= 1


def check_xarray(path, engine):
    maps = maps_of(path)
    with xr.open_dataset(path, engine=engine) as ds:
        assert set(ds.data_vars) == set(maps), engine
        assert set(ds.coords) == set(COORDINATES), engine
        for name, (unit, kind) in maps.items():
            data = ds[name]
            assert data.dims == ("around", "axial"), (engine, name)
            assert data.dtype == kind, (engine, name)  # classes stay whole numbers
            assert data.attrs["units"] == unit, (engine, name)
            assert data.attrs["long_name"], (engine, name)
            assert "angle" in data.coords and "radius" in data.coords, (engine, name)
        for name in ("outcome", "wanted"):
            values = np.atleast_1d(ds[name].attrs["flag_values"])
            meanings = ds[name].attrs["flag_meanings"].split()
            assert len(values) == len(meanings), (engine, name)
            assert set(np.unique(ds[name])) <= set(values.tolist()), (engine, name)
        for name, (axis, unit) in COORDINATES.items():
            assert ds[name].dims == (axis,), (engine, name)
            assert ds[name].attrs["units"] == unit, (engine, name)
        for axis in ("around", "axial"):
            assert np.all(np.diff(ds[axis]) > 0), (engine, axis)
        assert ds.attrs["Conventions"].startswith("CF-"), engine
        assert ds.attrs["format"] == "circumfluence mark map", engine
        middle = float(ds["around"][ds.sizes["around"] // 2])
        assert ds["fluence"].sel(around=middle, method="nearest").dims == ("axial",), engine
    with xr.open_dataset(path, engine=engine, group="summary") as summary:
        assert summary.data_vars, engine
        for name, figure in summary.data_vars.items():
            assert figure.dims == () and figure.dtype == np.float64, (engine, name)
            assert figure.attrs["units"], (engine, name)
    with xr.open_dataset(path, engine=engine, group="record") as record:
        assert isinstance(record.attrs["job"], str), engine
        assert {"version", "created", "materials"} <= set(record.attrs), engine


def check_engines_agree(path):
    maps = maps_of(path)
    one, other = (xr.open_dataset(path, engine=engine) for engine in ENGINES)
    with one, other:
        xr.testing.assert_equal(one, other)
        with h5py.File(path, "r") as file:
            for name in maps:
                np.testing.assert_array_equal(file[name][...], one[name].values)


def check_netcdf4(path):
    with netCDF4.Dataset(path) as file:
        assert list(file.dimensions) == ["around", "axial"]
        assert file.variables["fluence"].dimensions == ("around", "axial")
        assert set(file.groups) - {"wall"} == {"record", "summary"}


def check_ncdump(path):
    done = subprocess.run(["ncdump", "-h", path], capture_output=True, text=True, check=True)
    header = " ".join(done.stdout.split())
    assert "float fluence(around, axial) ;" in header
    assert "ubyte outcome(around, axial) ;" in header
    assert 'fluence:units = "J/m^2" ;' in header
    assert done.stderr == ""
