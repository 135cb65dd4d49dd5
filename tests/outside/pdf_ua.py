"""What ISO 14289-1 (PDF/UA-1) asks of a PDF, as far as a program can see it.

The package `pdfua` decides 16 of its rules; one of its own checks, of empty headings, breaks down
on lists of content. What it leaves out and our pages can get wrong is looked at here: which element
may stand in which (ISO 32000-1, 14.8.4), the levels of headings, headers of cells, lines and fills
that are neither told nor marked as decoration, fonts, attachments. No tool judges the words.

    python tests/outside/pdf_ua.py          looks at the hand-out of every shipped weave (minutes)
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pikepdf
from pdfua import validate

ROOT = Path(__file__).resolve().parents[2]
#: The rule of `pdfua` that breaks down; `_headings` decides it.
BROKEN = "UA-14-001"
#: What it is not certain of: it asks for `Scope` where cells name their headers (`_cells` looks).
UNSURE = "UA-15-003"
#: Elements that may stand in no other, and what each may hold (ISO 32000-1, 14.8.4.3).
PARENTS = {
    "LI": "L", "Lbl": "LI", "LBody": "LI", "TR": "Table THead TBody TFoot",
    "THead": "Table", "TBody": "Table", "TFoot": "Table", "TH": "TR", "TD": "TR",
}  # fmt: skip
CHILDREN = {
    "L": "L LI Caption", "LI": "Lbl LBody", "Table": "TR THead TBody TFoot Caption",
    "THead": "TR", "TBody": "TR", "TFoot": "TR", "TR": "TH TD",
}  # fmt: skip
PAINT = {"S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "sh", "Do", "Tj", "TJ", "'", '"'}


def _kids(element: pikepdf.Dictionary) -> list[object]:
    kids = element.get("/K")
    return [] if kids is None else list(kids) if isinstance(kids, pikepdf.Array) else [kids]


def _elements(element: pikepdf.Dictionary, inside: str = "") -> Iterator[tuple[str, str, object]]:
    """Every element in reading order with its kind and the kind of what it stands in."""
    kind = str(element.get("/S", "/")).removeprefix("/")
    if kind:
        yield kind, inside, element
    for kid in _kids(element):
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield from _elements(kid, kind)


def _content(element: pikepdf.Dictionary) -> bool:
    """Whether anything that is printed belongs to an element."""
    return any(
        _content(kid) if isinstance(kid, pikepdf.Dictionary) and "/S" in kid else True
        for kid in _kids(element)
    )


def _nesting(every: list[tuple[str, str, pikepdf.Dictionary]]) -> Iterator[str]:
    for kind, inside, _ in every:
        if kind in PARENTS and inside not in PARENTS[kind].split():
            yield f"7.2: {kind} in {inside}"
        if inside in CHILDREN and kind not in CHILDREN[inside].split():
            yield f"7.2: {inside} holds {kind}"


def _headings(every: list[tuple[str, str, pikepdf.Dictionary]]) -> Iterator[str]:
    level = 0
    for kind, _, element in every:
        if found := re.fullmatch(r"H(\d)", kind):
            if int(found[1]) > level + 1:
                yield f"7.4.2: H{found[1]} after H{level}"
            level = int(found[1])
            if not _content(element):
                yield f"7.4.2: an empty {kind}"
    if not level:
        yield "7.4.2: no headings"


def _cells(every: list[tuple[str, str, pikepdf.Dictionary]]) -> Iterator[str]:
    """7.5: every cell names its headers, and they are there."""
    known = {str(e["/ID"]) for kind, _, e in every if kind == "TH" and "/ID" in e}
    for kind, _, element in every:
        if kind == "TD":
            heads = [str(h) for h in element["/A"].get("/Headers", [])]
            if not heads or not set(heads) <= known:
                yield f"7.5: a cell with headers {heads}"


def _painted(page: pikepdf.Page) -> Iterator[str]:
    """7.1: what is painted is told or marked as decoration."""
    deep = 0
    for operands, operator in pikepdf.parse_content_stream(page):
        name = str(operator)
        deep += (name in ("BDC", "BMC")) - (name == "EMC")
        if name in PAINT and not deep:
            yield f"7.1: {name} {operands} outside all marks"


def _fonts(pdf: pikepdf.Pdf) -> Iterator[str]:
    """7.21.4.1: every font is embedded."""
    for found in pdf.objects:
        font = isinstance(found, pikepdf.Dictionary) and found.get("/Type") == "/FontDescriptor"
        if font and not {"/FontFile", "/FontFile2", "/FontFile3"} & set(found.keys()):
            yield f"7.21.4.1: {found.get('/FontName')} is not embedded"


def _told(pdf: pikepdf.Pdf) -> Iterator[str]:
    """5 and 7.1: what the file says of itself; 7.11: names of attachments."""
    with pdf.open_metadata() as about:
        if about.get("pdfuaid:part") != "1":
            yield "5: pdfuaid:part is not 1"
        if not about.get("dc:title"):
            yield "7.1: no dc:title"
    for found in pdf.objects:
        file = isinstance(found, pikepdf.Dictionary) and found.get("/Type") == "/Filespec"
        if file and not {"/F", "/UF"} <= set(found.keys()):
            yield "7.11: an attachment without F and UF"


def faults(path: Path) -> list[str]:
    """Everything that is wrong with a PDF, each in a line."""
    report = validate(str(path))
    found = [
        f"{f.pdfua_clause}: {f.message}"
        for outcome in report.outcomes
        for f in outcome.findings
        if not (f.rule_id == UNSURE and f.confidence.name == "HEURISTIC")
    ]
    skipped = [x.rule_id for x in report.outcomes if x.skipped_reason]
    found += [f"{rule} was not looked at" for rule in skipped if rule != BROKEN]
    with pikepdf.open(path) as pdf:
        every = list(_elements(pdf.Root["/StructTreeRoot"]["/K"][0]))
        found += [*_nesting(every), *_headings(every), *_cells(every), *_fonts(pdf), *_told(pdf)]
        for page in pdf.pages:
            found += _painted(page)
    return found


def main() -> int:
    """Look at every shipped weave; 1 where one has a fault."""
    bad = 0
    with tempfile.TemporaryDirectory() as folder:
        for recipe in sorted([*ROOT.glob("library/*.weave"), *ROOT.glob("examples/*.weave")]):
            target = Path(folder) / f"{recipe.stem}.html"
            draft = ["--draft"] if recipe.stem == "missed_ring" else []
            words = [recipe, "--to", target, "--pdf", *sys.argv[1:], *draft]
            subprocess.run([sys.executable, "-m", "ringstep", "handout", *words], check=True)
            for fault in (found := faults(target.with_suffix(".pdf"))):
                print(f"{recipe.name}: {fault}")
            bad += bool(found)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
