#!/usr/bin/env python3
"""Compares the library with published values, one table a source, and writes docs/validation.md.

    compare.py            writes the page
    compare.py --check    exit status 1 where a value is off by more than its tolerance, or the page is not the one
                          that these tables give
"""

import pathlib
import sys
import tomllib

import quantities

HERE = pathlib.Path(__file__).resolve().parent
PAGE = HERE.parent / "docs" / "validation.md"
INTRODUCTION = """# Validation

Against published values, one table a source. `exact`: closed forms and limits; what is published was worked out from the
source's formula by a script that shares no code with the library. `measured`: materials and experiments. Nothing here was
used to fit anything. Made by `validation/compare.py`, which also runs as the test `validation`; tables and how each number
was obtained are in `validation/`.

The marks of the trade (what clears paint, what darkens steel, what leaves bare aluminium alone) are in
`tests/mark/trade_facts_test.cpp`: common practice, no source.

"""


def tables():
    for kind in ("exact", "measured"):
        for path in sorted((HERE / kind).glob("*.toml")):
            yield kind, path, tomllib.loads(path.read_text())


def compare(check):
    ours = getattr(quantities, check["compute"])(**check["arguments"])
    return ours, ours / check["published"] - 1


def percent(share):
    return f"{100 * share:.3g} %"


def main():
    page, failed, count, worst_all = INTRODUCTION, [], 0, {}
    summary, chapters = "| source | kind | values | tolerance | largest difference |\n| --- | --- | --- | --- | --- |\n", ""
    for kind, path, table in tables():
        rows, worst, loosest = "", 0.0, 0.0
        for check in table["check"]:
            ours, difference = compare(check)
            count += 1
            worst, loosest = max(worst, abs(difference)), max(loosest, check["tolerance"])
            # Tables stay the same on machines whose last digits differ.
            shown = "below 1e-7" if abs(difference) < 1e-7 else f"{difference:+.1e}"
            rows += f"| {check['quantity']} | {check['unit']} | {check['published']:.7g} | {ours:.6g} | {shown} |\n"
            if not abs(difference) <= check["tolerance"]:
                failed.append(f"{path.name}: {check['quantity']}: published {check['published']:.7g}, ours {ours:.7g} {check['unit']}")
        anchor = path.stem.replace("_", "-")
        summary += f"| [{table['title']}](#{anchor}) | {kind} | {len(table['check'])} | {percent(loosest)} | {percent(worst) if worst > 1e-7 else 'below 1e-5 %'} |\n"
        chapters += f"\n<a id=\"{anchor}\"></a>\n## {table['title']}\n\nSource: {table['citation']}. Obtained: {table['obtained']}.\n\n"
        chapters += "| quantity | unit | published | ours | difference |\n| --- | --- | --- | --- | --- |\n" + rows
    page += summary + chapters
    print(f"{count - len(failed)} passed, {len(failed)} failed")
    print("\n".join(failed))
    if "--check" not in sys.argv:
        PAGE.write_text(page)
    elif not PAGE.exists() or PAGE.read_text().count("\n") != page.count("\n"):
        failed.append(f"{PAGE.name} is not of these tables. Run validation/compare.py")
        print(failed[-1])
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
