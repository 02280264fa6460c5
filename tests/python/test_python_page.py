"""The code on docs/python.md runs as it stands there, in one go, with the demo bottle beside it."""

import pathlib
import re
import shutil
import subprocess
import sys

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]


def test_the_page_runs(tmp_path, monkeypatch):
    pytest.importorskip("xarray")
    pytest.importorskip("matplotlib").use("Agg")
    subprocess.run([sys.executable, ROOT / "sim/demo/draw_art.py", tmp_path / "finisher_art.png"], check=True)
    shutil.copy(ROOT / "sim/demo/finisher_bottle.toml", tmp_path)
    monkeypatch.chdir(tmp_path)
    blocks = re.findall(r"```python\n(.*?)```", (ROOT / "docs/python.md").read_text(), re.S)
    assert len(blocks) >= 5
    names = {}
    exec(compile("\n".join(blocks), "docs/python.md", "exec"), names)
    assert names["job"]["scan.power"] == "75 %" and names["other"]["scan.power"] == "6 W"
    assert names["figures"]["verdict"] == names["back"].summary["ruling"]
    assert (tmp_path / "bottle.png").exists() and (tmp_path / "bottle.mark.h5").exists()
