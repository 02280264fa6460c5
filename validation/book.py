"""What compare.py puts together: tables of exact values, sources in folders, the page with all of them.

A row of a source is judged by its measure:
    relative   ours/published - 1, or a median of that over many rows
    factor     ours/published
    spreads    ln(ours/published) over the record's own spread
    nm, K      a difference
`limit` is how far from agreement it may be. A row that is farther says so in data.toml: `outside` (why, or a key of [reasons])
and `size` (by how much). The book is in order only while that remains so.
"""

import importlib.util
import math
import sys
import tomllib
from dataclasses import dataclass

import quantities
import quantities_calibration
import quantities_heat
import quantities_kinetics

INTRODUCTION = """# Validation

What the library computes against what others have published or measured. Nothing was tuned to agree; where a record's
figure or its spread comes from the same source, the page says so. Made by `validation/compare.py`, which also runs as the test `validation`; the numbers, how each was obtained and the scripts are in
`validation/`, a folder or a table a source.

Three kinds of truth, kept apart:

- [Exact](#exact): closed forms and limits; what is published was worked out from the source's formula by a script that shares no
  code with the library.
- [The reference solver](validation/reference_solver.md): the fast laws of a prediction against a solution without their
  shortcuts. It says where the fast laws hold.
- [Measured](#measured): materials and experiments. What does not agree is [listed](#what-does-not-agree), with the reason.

The marks of the trade (what clears paint, what darkens steel, what leaves bare aluminium alone) are in
`tests/mark/trade_facts_test.cpp`: common practice, no source. The chart of `sio2_on_silicon` is judged
by the book's own colour chain, a twin of the library's, which is held to its hues in `tests/appearance/thin_film_test.cpp`.

"""


def percent(share):
    return f"{100 * share:.3g} %"


class Table:
    """exact/*.toml: a [[check]] each value, relative tolerance."""

    def __init__(self, path):
        self.name, table = path.stem, tomllib.loads(path.read_text())
        self.title, self.citation, self.obtained = table["title"], table["citation"], table["obtained"]
        self.rows = [(check, *self.compare(check)) for check in table["check"]]

    @staticmethod
    def compare(check):
        compute = next(getattr(m, check["compute"]) for m in (quantities, quantities_heat, quantities_kinetics, quantities_calibration) if hasattr(m, check["compute"]))
        ours = compute(**check["arguments"])
        return ours, ours / check["published"] - 1

    def agreeing(self):
        return sum(abs(off) <= check["tolerance"] for check, _, off in self.rows)

    def failed(self):
        return [f"{self.name}: {check['quantity']}: published {check['published']:.7g}, ours {ours:.7g} {check['unit']}"
                for check, ours, off in self.rows if not abs(off) <= check["tolerance"]]

    def summary(self):
        worst, loosest = max(abs(off) for *_, off in self.rows), max(check["tolerance"] for check, *_ in self.rows)
        return (f"| [{self.title}](#{self.name.replace('_', '-')}) | {len(self.rows)} | {percent(loosest)} | "
                f"{percent(worst) if worst > 1e-7 else 'below 1e-5 %'} |\n")

    def chapter(self):
        text = f"\n<a id=\"{self.name.replace('_', '-')}\"></a>\n### {self.title}\n\nSource: {self.citation}. Obtained: {self.obtained}.\n\n"
        text += "| quantity | unit | published | ours | difference |\n| --- | --- | --- | --- | --- |\n"
        for check, ours, off in self.rows:
            shown = "below 1e-7" if abs(off) < 1e-7 else f"{off:+.1e}"
            text += f"| {check['quantity']} | {check['unit']} | {check['published']:.7g} | {ours:.6g} | {shown} |\n"
        return text


def shown(value):
    return value if isinstance(value, str) else f"{value:.3g}"


def self_test():
    """Each way in which the book can be out of order, once."""
    near, far = {"of": "a", "limit": 0.1}, {"of": "a", "limit": 2.0, "measure": "factor"}
    assert not Row(near, 1, 1.05, 0.05).problem() and "off by +30 %" in Row(near, 1, 1.3, 0.3).problem()
    assert "off by" in Row(near, 1, math.nan, math.nan).problem()
    declared = {**near, "outside": "why", "size": 0.3}
    assert not Row(declared, 1, 1.3, 0.31).problem() and "is 0.5" in Row(declared, 1, 1.5, 0.5).problem()
    assert "agrees now" in Row(declared, 1, 1.0, 0.0).problem() and "is -0.3" in Row(declared, 1, 0.7, -0.3).problem()
    assert not Row(far, 1, 0.6, 0.6).problem() and "off by 0.3 times" in Row(far, 1, 0.3, 0.3).problem()
    assert "is 0.2" in Row({**far, "outside": "why", "size": 0.3}, 1, 0.2, 0.2).problem()


@dataclass
class Row:
    """One comparison of a source."""
    entry: dict
    published: object
    ours: object
    off: float

    @property
    def agrees(self):
        limit = self.entry["limit"]
        if self.entry.get("measure", "relative") == "factor":
            return self.off > 0 and abs(math.log(self.off)) <= math.log(limit)
        return abs(self.off) <= limit

    def difference(self):
        return {"relative": f"{100 * self.off:+.0f} %" if abs(self.off) >= 0.0995 else f"{100 * self.off:+.1f} %", "factor": f"{self.off:.2g} times",
                "spreads": f"{self.off:+.1f} spreads"}.get(self.entry.get("measure", "relative"), f"{self.off:+.0f} {self.entry.get('measure')}")

    def accepted(self):
        limit = self.entry["limit"]
        return {"relative": f"{100 * limit:g} %", "factor": f"{limit:g} times", "spreads": f"{limit:g} spreads"}.get(
            self.entry.get("measure", "relative"), f"{limit:g} {self.entry.get('measure')}")

    def problem(self):
        """What is not in order, or nothing."""
        declared = "outside" in self.entry
        if self.agrees:
            return "agrees now: take its `outside` away" if declared else ""
        if not declared:
            return f"off by {self.difference()} (accepted {self.accepted()})"
        size = self.entry["size"]
        close = abs(math.log(self.off / size)) < 0.15 if self.entry.get("measure") == "factor" else abs(self.off - size) <= max(0.03, 0.15 * abs(size))
        return "" if close else f"declared as off by {size:g}, is {self.off:.3g}"


class Source:
    """A folder with data.toml, compare.py and README.md."""

    def __init__(self, folder):
        self.folder, self.name = folder, folder.name
        data = tomllib.loads((folder / "data.toml").read_text())
        self.title, self.citation, self.kind = data["title"], data["citation"], folder.parent.name
        self.reasons = data.get("reasons", {})
        self.script = self.load()
        results = self.script.results()
        known = {entry["of"] for entry in data["comparison"]}
        if known != set(results):
            raise SystemExit(f"{self.name}: data.toml and compare.py differ in what they compare: {known ^ set(results)}")
        self.rows = [Row(entry, *results[entry["of"]]) for entry in data["comparison"]]

    def load(self):
        """Its compare.py, and the modules beside it."""
        sys.path.insert(0, str(self.folder))
        spec = importlib.util.spec_from_file_location(f"compare_{self.name}", self.folder / "compare.py")
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        sys.path.remove(str(self.folder))
        return module

    def plot(self, path):
        self.script.plot(path)

    def agreeing(self):
        return sum(row.agrees for row in self.rows)

    def failed(self):
        return [f"{self.name}: {row.entry['of']}: {row.problem()}" for row in self.rows if row.problem()]

    def why(self, row):
        return self.reasons.get(row.entry["outside"], row.entry["outside"]) if "outside" in row.entry else ""

    def table(self, named):
        """Rows of the book; `named`: with the source."""
        text = ""
        for row in self.rows:
            source = f" [{self.citation}](validation/{self.name}.md) |" if named else ""
            text += (f"| {row.entry['of']} |{source} {shown(row.published)} | {shown(row.ours)} | {row.difference()} | {row.accepted()} | "
                     f"{'agrees' if row.agrees else 'outside'} |\n")
        return text

    def page(self):
        text = (self.folder / "README.md").read_text().rstrip() + "\n\n## Comparison\n\n"
        text += "| quantity | published | ours | difference | accepted | |\n| --- | --- | --- | --- | --- | --- |\n" if self.kind == "measured" else (
            "| quantity | reference | fast law | difference | accepted | |\n| --- | --- | --- | --- | --- | --- |\n")
        text += self.table(False)
        missing = {}
        for row in self.rows:
            if not row.agrees:
                missing.setdefault(self.why(row), []).append(row.entry["of"])
        if missing:
            text += "\nOutside, and why:\n\n" + "".join(f"- {'; '.join(names)}: {why}\n" for why, names in missing.items())
        text += f"\n![{self.title}](../pictures/validation/{self.name}.png)\n"
        return text + f"\nMade by `validation/compare.py` from `validation/{self.kind}/{self.name}/`; its `compare.py` prints every row.\n"


def overview(tables, sources):
    text = INTRODUCTION + "## Measured\n\n| quantity | source | published | ours | difference | accepted | |\n| --- | --- | --- | --- | --- | --- | --- |\n"
    measured = [source for source in sources if source.kind == "measured"]
    text += "".join(source.table(True) for source in measured)
    text += "\n### What does not agree\n\n"
    for source in measured:
        for row in source.rows:
            if not row.agrees:
                text += f"- [{source.name}](validation/{source.name}.md), {row.entry['of']} ({row.difference()}): {source.why(row)}\n"
    text += "\n## Fast laws against the reference solver\n\n| kind | cases | within 5 % |\n| --- | --- | --- |\n"
    for source in sources:
        if source.kind == "exact":
            groups = {}
            for row in source.rows:
                groups.setdefault(row.entry["of"].split(":")[0], []).append(row.agrees)
            text += "".join(f"| {name} | {len(agree)} | {sum(agree)} |\n" for name, agree in groups.items())
            text += f"\nWhere, how far off and why: [{source.title}](validation/{source.name}.md).\n"
    text += "\n## Exact\n\n| source | values | tolerance | largest difference |\n| --- | --- | --- | --- |\n"
    text += "".join(table.summary() for table in tables)
    return text + "".join(table.chapter() for table in tables)
