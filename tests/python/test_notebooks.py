"""Every notebook runs from its first cell to its last, and is stored without outputs.

Truth: the notebooks' own story. The one about the bottle must come to the verdict that the same job gives outside it.
"""

import os
import pathlib

import pytest

nbformat = pytest.importorskip("nbformat")
nbclient = pytest.importorskip("nbclient")
pytest.importorskip("ipykernel")
pytest.importorskip("ipywidgets")
pytest.importorskip("matplotlib")

FOLDER = pathlib.Path(__file__).resolve().parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))


def executed(path, more=()):
    notebook = nbformat.read(path, as_version=4)
    notebook.cells += [nbformat.v4.new_code_cell(source) for source in more]
    client = nbclient.NotebookClient(notebook, timeout=300, kernel_name="python3", resources={"metadata": {"path": str(FOLDER)}})
    # Old widgets and new clients disagree on the first message of a widget; without the handlers nobody answers it.
    client.comm_open_handlers.clear()
    client.execute(env=dict(os.environ, MPLBACKEND="module://matplotlib_inline.backend_inline"))
    return notebook


def outputs(notebook):
    return [output for cell in notebook.cells for output in cell.get("outputs", [])]


def test_there_are_notebooks():
    assert NOTEBOOKS


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_is_stored_without_outputs(path):
    notebook = nbformat.read(path, as_version=4)
    nbformat.validate(notebook)
    assert not outputs(notebook)
    assert all(cell.execution_count is None for cell in notebook.cells if cell.cell_type == "code")


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_runs_to_its_end(path):
    found = outputs(executed(path))
    assert not [output for output in found if output.output_type == "error"]


def test_first_mark_comes_to_its_verdict_and_answers_its_sliders():
    moved = """
calls = []
real = cf.predict
cf.predict = lambda job, **more: calls.append(job) or real(job, **more)
power.value = 5
speed.value = 5000
cf.predict = real
assert [(job["power"], job["speed"]) for job in calls] == [("5 %", "2500 mm/min"), ("5 %", "5000 mm/min")]
assert real(calls[-1]).verdict.ruling != verdict.ruling
shape = real(window).outcome.shape
print("SHAPE", shape, verdict.ruling)
"""
    found = outputs(executed(FOLDER / "first_mark.ipynb", [moved]))
    words = "".join(output.text for output in found if output.output_type == "stream")
    assert "SHAPE (400, 400) marks" in words
    assert "caution:" in words
    pictures = [output for output in found if "image/png" in output.get("data", {})]
    assert len(pictures) >= 4  # the art, outcome, view, a line of fluence
