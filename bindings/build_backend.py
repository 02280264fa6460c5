"""Builds the wheel with CMake, from the standard library alone, so that `pip install .` needs no network (PEP 517)."""

import base64
import hashlib
import os
import pathlib
import subprocess
import sys
import sysconfig
import tempfile
import tomllib
import zipfile

ROOT = pathlib.Path(__file__).resolve().parent.parent


def _project():
    return tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]


def _metadata(project):
    lines = ["Metadata-Version: 2.1", f"Name: {project['name']}", f"Version: {project['version']}", f"Summary: {project['description']}",
             f"Requires-Python: {project['requires-python']}", f"License: {project['license']['text']}"]
    lines += [f"Requires-Dist: {need}" for need in project["dependencies"]]
    for extra, needs in project["optional-dependencies"].items():
        lines.append(f"Provides-Extra: {extra}")
        lines += [f'Requires-Dist: {need}; extra == "{extra}"' for need in needs]
    return "\n".join(lines) + "\n"


def _compile(folder):
    build, stage = folder / "build", folder / "stage"
    subprocess.run(["cmake", "-S", ROOT, "-B", build, "-G", "Ninja", "-DCIRCUMFLUENCE_TESTS=OFF",
                    f"-DPython_EXECUTABLE={sys.executable}", "-DCIRCUMFLUENCE_PYTHON_DIR=python"], check=True)
    subprocess.run(["cmake", "--build", build, "--target", "_core"], check=True)
    subprocess.run(["cmake", "--install", build, "--prefix", stage, "--component", "Python"], check=True)
    return stage / "python"


def build_wheel(wheel_directory, config_settings=None, metadata_directory=None):
    project = _project()
    name, version = project["name"], project["version"]
    python = f"cp{sys.version_info.major}{sys.version_info.minor}"
    tag = f"{python}-{python}-{sysconfig.get_platform().replace('-', '_').replace('.', '_')}"
    info = f"{name}-{version}.dist-info"
    wheel = f"{name}-{version}-{tag}.whl"
    with tempfile.TemporaryDirectory() as folder:
        packages = _compile(pathlib.Path(folder))
        contents = {str(p.relative_to(packages)): p.read_bytes() for p in sorted(packages.rglob("*")) if p.is_file()}
    contents[f"{info}/METADATA"] = _metadata(project).encode()
    contents[f"{info}/WHEEL"] = f"Wheel-Version: 1.0\nGenerator: {name}\nRoot-Is-Purelib: false\nTag: {tag}\n".encode()
    record = ""
    for path, data in contents.items():
        digest = base64.urlsafe_b64encode(hashlib.sha256(data).digest()).rstrip(b"=").decode()
        record += f"{path},sha256={digest},{len(data)}\n"
    contents[f"{info}/RECORD"] = (record + f"{info}/RECORD,,\n").encode()
    with zipfile.ZipFile(os.path.join(wheel_directory, wheel), "w", zipfile.ZIP_DEFLATED) as archive:
        for path, data in contents.items():
            archive.writestr(path, data)
    return wheel


def build_sdist(sdist_directory, config_settings=None):
    version = _project()["version"]
    name = f"circumfluence-{version}.tar.gz"
    subprocess.run(["git", "-C", ROOT, "archive", f"--prefix=circumfluence-{version}/", "-o", os.path.join(os.path.abspath(sdist_directory), name), "HEAD"], check=True)
    return name
