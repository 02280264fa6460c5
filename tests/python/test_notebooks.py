"""Every notebook runs from top to bottom and is stored without outputs."""
import pathlib

import pytest

nbformat = pytest.importorskip("nbformat")
nbclient = pytest.importorskip("nbclient")
pytest.importorskip("ipywidgets")

FOLDER = pathlib.Path(__file__).resolve().parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))


def test_there_are_notebooks():
    assert NOTEBOOKS


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook_runs(path, tmp_path):
    notebook = nbformat.read(path, as_version=4)
    assert not any(cell.get("outputs") or cell.get("execution_count") for cell in notebook.cells), "stored with outputs"
    client = nbclient.NotebookClient(notebook, timeout=300, kernel_name="python3", resources={"metadata": {"path": str(FOLDER)}})
    client.comm_open_handlers.clear()  # ipywidgets 6 opens comms that nbclient 0.7 cannot read
    client.execute()
    pictures = sum("image/png" in output.get("data", {}) for cell in notebook.cells for output in cell.get("outputs", []))
    assert pictures >= 4
