"""Pages that are made from the code are those of this code."""
import pathlib
import subprocess

DOCS = pathlib.Path(__file__).resolve().parents[2] / "docs"


def test_format_pages_are_current(build):
    for which, page in (("job", "job.md"), ("mark", "mark_map.md")):
        made = subprocess.run([build / "bin/circumfluence", "formats", which], check=True, capture_output=True, text=True).stdout
        assert (DOCS / "formats" / page).read_text() == made, f"run: circumfluence formats {which} > docs/formats/{page}"
