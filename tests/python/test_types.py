"""The stubs say what the module does: mypy's stubtest, and a strict reading of a sample."""
import os
import pathlib
import subprocess
import sys
import textwrap

import pytest

pytest.importorskip("mypy")
PACKAGE = pathlib.Path(__import__("circumfluence").__file__).parent


def run(*arguments, **more):
    environment = dict(os.environ, MYPYPATH=str(PACKAGE.parent))
    done = subprocess.run([sys.executable, "-m", *arguments], capture_output=True, text=True, env=environment, **more)
    assert done.returncode == 0, done.stdout + done.stderr


def test_stubs_match_the_module(tmp_path):
    allowed = tmp_path / "allow"
    # pybind11's own metaclass and the constructors of classes that only the library makes.
    allowed.write_text("circumfluence\\._core\\.[A-Z]\\w+\ncircumfluence\\._core\\.[A-Z]\\w+\\.__\\w+__\n")
    run("mypy.stubtest", "circumfluence._core", "--allowlist", str(allowed), "--ignore-unused-allowlist", cwd=tmp_path)


def test_a_sample_is_well_typed(tmp_path):
    (tmp_path / "sample.py").write_text(textwrap.dedent("""
        import circumfluence as cf

        job: cf.Job = cf.read_job("bottle.toml").replace(power="60 %")
        mark = cf.predict(job, file="bottle.mark.h5")
        hottest: float = mark.verdict.hottest
        cells: int = mark.outcome.size
        w = cf.caustic(wavelength="450 nm").axial.rayleigh + 1.0
    """))
    run("mypy", "--strict", "--cache-dir", str(tmp_path / "cache"), "sample.py", cwd=tmp_path)
