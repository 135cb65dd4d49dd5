"""The checks' documents: prose, recipes, and marks where findings must appear.

A document is a Markdown file beside this one, named after the file of its check. A block fenced as
`recipe` is checked as it stands, without its mark lines: under a faulty line a line of blanks,
carets and a rule name says that this rule underlines just that text. What is not marked must not be
found; a recipe without marks is clean. A block fenced as `report` is the whole report of the recipe
above it, word for word.

After a change of wording, `python tests/checks/test_documents.py` stores the reports anew; read
every one of them aloud before it is kept.
"""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from helpers import ROOT, findings, report

from ringstep.checks.rules import checks_of_rings

FOLDER = Path(__file__).resolve().parent
_BLOCK = re.compile(r"^```(recipe|report)\n(.*?)^```$", re.M | re.S)
_MARK = re.compile(r"^( *)(\^+) ([a-z]+(?:-[a-z]+)+)$")

OF_RINGS = {check.__name__.rpartition(".")[2] for check in checks_of_rings()}  # type: ignore[attr-defined]

Mark = tuple[str, int, int, int]


@dataclass(frozen=True)
class Case:
    """One recipe of a document.

    line: where its block begins in the document. text: the recipe without its marks.
    marks: (rule, line, column, end) of each finding. report: the stored report, if there is one.
    """

    document: str
    line: int
    text: str
    marks: tuple[Mark, ...]
    report: str | None

    @property
    def of_rings(self) -> bool:
        """Whether its check is one of those that are asked for with `check --rings`."""
        return Path(self.document).stem in OF_RINGS

    def __str__(self) -> str:
        return f"{self.document}:{self.line}"


def unmarked(block: str) -> tuple[str, tuple[Mark, ...]]:
    """A recipe without its mark lines, and what they say."""
    lines: list[str] = []
    marks: list[Mark] = []
    for line in block.splitlines():
        if found := _MARK.match(line):
            column = len(found[1]) + 1
            marks.append((found[3], len(lines), column, column + len(found[2])))
        else:
            lines.append(line)
    return "\n".join(lines) + "\n", tuple(sorted(marks, key=lambda m: (m[1], m[2], m[0])))


def cases(path: Path) -> list[Case]:
    """The recipes of one document, each with the report that follows it."""
    whole = path.read_text(encoding="utf-8")
    found: list[Case] = []
    for block in _BLOCK.finditer(whole):
        if block[1] == "recipe":
            text, marks = unmarked(block[2])
            line = whole[: block.start()].count("\n") + 1
            found.append(Case(path.name, line, text, marks, None))
        else:
            last = found.pop()
            assert last.report is None, f"{last} has two reports"
            found.append(Case(last.document, last.line, last.text, last.marks, block[2]))
    return found


DOCUMENTS = {path.stem: cases(path) for path in sorted(FOLDER.glob("*.md"))}
CASES = [case for found in DOCUMENTS.values() for case in found]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_findings_stand_where_they_are_marked_and_nowhere_else(case: Case) -> None:
    found = [
        (f.rule.name, f.span.line, f.span.column, f.span.end, f.message)
        for f in findings(case.text, case.of_rings)
    ]
    got = sorted((f[:4] for f in found), key=lambda m: (m[1], m[2], m[0]))
    assert got == list(case.marks), "\n".join(map(str, found))


@pytest.mark.parametrize("case", [c for c in CASES if c.report is not None], ids=str)
def test_the_report_reads_as_stored(case: Case) -> None:
    assert report(case.text, "weave.weave", case.of_rings) == (case.report or "").rstrip("\n")


def test_every_check_has_its_document() -> None:
    folder = ROOT / "recipe" / "ringstep" / "checks" / "rules"
    checks = {p.stem for p in folder.rglob("*.py")} - {"__init__"}
    assert set(DOCUMENTS) == checks


@pytest.mark.parametrize("name", DOCUMENTS)
def test_a_document_shows_a_clean_recipe_a_wrong_one_and_a_report(name: str) -> None:
    assert any(not case.marks for case in DOCUMENTS[name])
    assert any(case.marks for case in DOCUMENTS[name])
    assert any(case.report for case in DOCUMENTS[name])


def test_a_document_speaks_of_its_own_rule() -> None:
    """Nearly every mark of a document is of its rule; another may stand in a recipe with several
    faults."""
    from ringstep.checks.rules import all_checks

    rules = {c.__name__.rpartition(".")[2]: c.RULE.name for c in all_checks()}  # type: ignore[attr-defined]
    for name, found in DOCUMENTS.items():
        wrong = [case for case in found if case.marks]
        assert all(any(m[0] == rules[name] for m in case.marks) for case in wrong), name


def store(path: Path) -> None:
    """Write the reports of a document anew."""
    whole = path.read_text(encoding="utf-8")
    last = ""

    def renewed(block: re.Match[str]) -> str:
        nonlocal last
        if block[1] == "recipe":
            last = unmarked(block[2])[0]
            return block[0]
        told = report(last, "weave.weave", path.stem in OF_RINGS)
        return f"```report\n{told}\n```"

    path.write_text(_BLOCK.sub(renewed, whole), encoding="utf-8")


if __name__ == "__main__":
    for document in sorted(FOLDER.glob("*.md")):
        store(document)
