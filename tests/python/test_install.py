"""The package works from where it is installed: `cmake --install`, and `pip install .` without a network."""
import os
import pathlib
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
SAMPLE = "import circumfluence as cf; assert cf.material('aisi_304').solidus.value > 1600; print(cf.__file__)"


def clean_environment(**more):
    dropped = ("PYTHONPATH", "CIRCUMFLUENCE_MATERIALS", "CIRCUMFLUENCE_BUILD")
    return {k: v for k, v in os.environ.items() if k not in dropped} | more


def test_after_cmake_install(build, tmp_path):
    subprocess.run(["cmake", "--install", build, "--prefix", tmp_path / "tree"], check=True, capture_output=True)
    (site,) = (tmp_path / "tree").glob("lib/python3*/*-packages")
    out = subprocess.run([sys.executable, "-c", SAMPLE], env=clean_environment(PYTHONPATH=str(site)), check=True, capture_output=True, text=True)
    assert str(tmp_path) in out.stdout


def test_pip_install_without_a_network(tmp_path):
    venv = tmp_path / "venv"
    subprocess.run([sys.executable, "-m", "venv", "--system-site-packages", venv], check=True)
    source = tmp_path / "source"
    subprocess.run(["git", "clone", "-q", ROOT, source], check=True)
    quick = clean_environment(CMAKE_BUILD_TYPE="Unoptimised")  # compiled from nothing: a build type without flags
    done = subprocess.run([venv / "bin/python", "-m", "pip", "install", "--no-index", source], env=quick, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    out = subprocess.run([venv / "bin/python", "-c", SAMPLE], env=clean_environment(), check=True, capture_output=True, text=True, cwd=tmp_path)
    assert str(venv) in out.stdout
