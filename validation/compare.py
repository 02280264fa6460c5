#!/usr/bin/env python3
"""The validation book: compares the library with published values and writes docs/validation.md and its pages.

    compare.py            writes the pages and draws their pictures
    compare.py --check    exit status 1 where a value is off by more than it may be, where a miss that is declared has become
                          smaller, larger or none, or where a page is not the one that these tables give

exact/*.toml: tables of closed forms. A folder (exact/reference_solver, measured/<source>): data.toml with what is compared and
how close it must come, compare.py with results() and plot(path), README.md with how the numbers were obtained.
"""

import pathlib
import re
import sys

import book

HERE = pathlib.Path(__file__).resolve().parent
DOCS = HERE.parent / "docs"
PICTURES = DOCS / "pictures" / "validation"
LARGEST_PICTURE = 60_000  # [bytes]


def same(page, text):
    """Whether a page is this text, but for digits: machines differ in the last ones."""
    def bare(t):
        return re.sub(r"below #|#", "#", re.sub(r"[-+]?\d[\d.]*(e[-+]?\d+)?", "#", t))
    return page.exists() and bare(page.read_text()) == bare(text)


def check_pages(pages, sources):
    wrong = [f"{page.relative_to(DOCS.parent)} is not of these tables. Run validation/compare.py" for page, text in pages.items()
             if not same(page, text)]
    for source in sources:
        picture = PICTURES / f"{source.name}.png"
        if not picture.exists() or picture.stat().st_size > LARGEST_PICTURE:
            wrong.append(f"{picture.relative_to(DOCS.parent)} is missing or larger than {LARGEST_PICTURE} bytes. Run validation/compare.py")
    return wrong


def write(pages, sources):
    (DOCS / "validation").mkdir(exist_ok=True)
    PICTURES.mkdir(parents=True, exist_ok=True)
    for page, text in pages.items():
        page.write_text(text)
    for source in sources:
        source.plot(PICTURES / f"{source.name}.png")


def main():
    book.self_test()
    tables = [book.Table(path) for path in sorted((HERE / "exact").glob("*.toml"))]
    sources = [book.Source(path.parent) for kind in ("exact", "measured") for path in sorted((HERE / kind).glob("*/compare.py"))]
    pages = {DOCS / "validation.md": book.overview(tables, sources)}
    pages |= {DOCS / "validation" / f"{source.name}.md": source.page() for source in sources}
    failed = [line for part in (*tables, *sources) for line in part.failed()]
    agree = sum(part.agreeing() for part in (*tables, *sources))
    misses = [row for source in sources for row in source.rows if not row.agrees]
    if "--check" in sys.argv:
        failed += check_pages(pages, sources)
    else:
        write(pages, sources)
    print(f"{agree} agree, {len(misses)} do not and say so, {len(failed)} failed")
    print("\n".join(failed))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
