"""Shared by the tests: recipes as text, and the short way from a text to its findings.

The recipes are the ones the language was tried on. Their known answers are counted by hand and
stand in the tests that use them.
"""

from __future__ import annotations

import signal
from dataclasses import replace
from pathlib import Path

from ringstep.checks.pipeline import findings_of, view_of
from ringstep.checks.report import FileReport, file_lines, plain
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Trouble
from ringstep.language.parse import parse
from ringstep.language.source import source_from_text
from ringstep.language.tree import Tree
from ringstep.weave.layout import Layout, lay_out


def laid_out(recipe: Tree, units: int = 0, rows: int = 0) -> Layout:
    """The whole piece, or the same recipe made in another size."""
    own = lay_out(recipe)
    if recipe.piece is None or not (units or rows):
        return own
    size = replace(
        recipe.piece,
        units=units or own.units,
        rows=(rows or own.rows) if own.flat else None,
        length=None,
    )
    return lay_out(replace(recipe, piece=size))


ROOT = Path(__file__).resolve().parent.parent
LIBRARY = ROOT / "library"
EXAMPLES = ROOT / "examples"

SIMPLE = """\
weave "Simple chain"
rings:
  all  wire 1.2 mm, inside 5 mm, copper
expect:
  A meets 2
start:
  close A
unit:
  add A through prev A
piece:
  chain 30 units
"""

DOUBLED = """\
weave "Doubled chain"
rings:
  all  wire 18 swg, inside 3/16 in, bright aluminium
expect:
  A meets 4
start:
  close 2 A
unit:
  add 2 A through prev A picks 2
piece:
  chain 190 mm
  sample 10 units = 41 mm
"""

BYZANTINE = """\
weave "Byzantine chain"
rings:
  all  wire 1.2 mm, inside 4.2 mm, copper
expect:
  C meets 2 A, 2 B
  A meets 2 C, 2 B
  B meets 2 A, 2 C
  6 rings a unit
start:
  close 2 A
  add 2 B through A picks 2
  fold back B
  spread A
unit:
  add 2 C through prev B picks 2
    hint go in between the two spread rings, through both folded ones
  add 2 A through C picks 2
  add 2 B through A picks 2
  fold back B
  spread A
piece:
  chain 20 units
"""

SPIRAL = """\
weave "Spiral 4-in-1"
rings:
  all  wire 1.0 mm, inside 4.5 mm, brass
expect:
  A meets 4
start:
  close A
unit:
  add A through prev A, prev prev A if there lay front
piece:
  chain 60 units
"""

SPIRAL_LOOP = """\
weave "Spiral loop, no clasp"
rings:
  all  wire 1.0 mm, inside 4.5 mm, brass
expect:
  A meets 4
start:
  close A
unit:
  add A through prev A, prev prev A if there lay front
piece:
  loop 57 units
finish:
  tighten last A
    hint untwist the chain before you close it
  add A1 through last A, last prev A, first A picks 3 lay front
  add A2 through A1, last A, first A, first next A picks 4 lay front
"""

FLOWERS = """\
weave "Flowers of three with connectors"
rings:
  P  wire 1.2 mm, inside 7 mm, brass
  k  wire 1.0 mm, inside 5 mm, copper
expect:
  P meets 2 P, 2 k
  k meets 6 P
start:
  close P1
  add P2 through P1
  add P3 through P1, P2 picks 2 lay front
unit:
  add k through prev P picks 3
  add P1 through k
  add P2 through k, P1 picks 2 lay front
  add P3 through k, P1, P2 picks 3 lay front
piece:
  chain 12 units
"""

PERSIAN = """\
weave "Persian 6-in-1 chain"
rings:
  all  wire 1.2 mm, inside 6.5 mm, aluminium
expect:
  M meets 6 S
  S meets 6 M
start:
  close 2 H
  add 2 M through H picks 2
  add 2 S through M picks 2
  fold back S
unit:
  spread prev M
  add 2 M through prev S picks 2
  add 2 S through M, prev M picks 4
  fold back S
piece:
  chain 24 units
finish:
  take out first H
"""

PERSIAN_LINKED = """\
weave "Persian chain with linked middle pairs"
rings:
  all  wire 1.2 mm, inside 7.0 mm, aluminium
expect:
  M meets 1 M, 6 S
  S meets 6 M
  4 rings a unit
  zigzag repeats every 2 units
variants:
  calm    lay front
  mirror  lay back
  zigzag  lay front, back
start:
  close 2 H
  add M1 through H picks 2
  add M2 through H, M1 picks 3 lay varies
  add 2 S through M picks 2
  fold back S
unit:
  spread prev M
  add M1 through prev S picks 2
  add M2 through prev S, M1 picks 3 lay varies
  add 2 S through M, prev M picks 4
  fold back S
piece:
  chain 24 units
  variant zigzag
"""

_WRITTEN_UNIT = """\
unit {}:
  spread prev M
  add M1 through prev S picks 2
  add M2 through prev S, M1 picks 3 lay front
  add S1, S2 through M, prev M picks 4
  fold back S
"""

PERSIAN_WRITTEN = """\
weave "Persian chain with linked middle pairs, written out"
rings:
  all  wire 1.2 mm, inside 7.0 mm, aluminium
expect:
  M meets 7
  S meets 6
start:
  close H1, H2
  add M1 through H1, H2 picks 2
  add M2 through H1, H2, M1 picks 3 lay front
  add S1, S2 through M picks 2
  fold back S
""" + "".join(_WRITTEN_UNIT.format(n) for n in (1, 2, 3))

SHAGGY = """\
weave "Shaggy chain"
rings:
  core  wire 1.2 mm, inside 6 mm, copper
  tuft  wire 0.8 mm, inside 3.5 mm, copper
expect:
  core meets 2 core, 6 tuft
  tuft meets 1 core
unit:
  add core through prev core if there
  add 6 tuft through core
piece:
  chain 40 units
"""

EUROPEAN = """\
weave "European 4-in-1 sheet, row by row"
rings:
  all  wire 1.6 mm, inside 8 mm, steel
expect:
  A meets 4
first row:
  close A
row:
  add A through above A, above next A if there
piece:
  sheet 10 rows of 12 units
  rows back and forth
"""

TUBE = """\
weave "European 4-in-1 tube"
rings:
  all  wire 1.2 mm, inside 5 mm, copper
expect:
  A meets 4
first row:
  close A
row:
  add A through above A, above next A picks 2
row end:
  tighten A
piece:
  tube 30 rows of 10 units
"""

JAPANESE = """\
weave "Japanese square sheet"
rings:
  flat    wire 1.6 mm, inside 8 mm, aluminium, colour black
  across  wire 1.2 mm, inside 4 mm, aluminium, colour red
  down    wire 1.2 mm, inside 4 mm, aluminium, colour red
expect:
  flat meets 2 across, 2 down
  across meets 2 flat
  down meets 2 flat
row:
  close flat
  add across through prev flat, flat picks 2 skip at edge
  add down through above flat, flat picks 2 skip at edge
piece:
  sheet 6 rows of 8 units
"""

#: Every recipe of this file that is right as it stands.
RECIPES: dict[str, str] = {
    "simple": SIMPLE,
    "doubled": DOUBLED,
    "byzantine": BYZANTINE,
    "spiral": SPIRAL,
    "spiral loop": SPIRAL_LOOP,
    "flowers": FLOWERS,
    "persian": PERSIAN,
    "persian linked": PERSIAN_LINKED,
    "persian written": PERSIAN_WRITTEN,
    "shaggy": SHAGGY,
    "european": EUROPEAN,
    "tube": TUBE,
    "japanese": JAPANESE,
}


def shipped_recipes() -> dict[str, str]:
    """The text of every recipe that is shipped, by file name."""
    return {p.stem: p.read_text(encoding="utf-8") for p in sorted(LIBRARY.glob("*.weave"))}


def shipped_texts() -> dict[str, str]:
    """The same with the recipes of the examples."""
    return shipped_recipes() | {
        p.stem: p.read_text(encoding="utf-8") for p in sorted(EXAMPLES.glob("*.weave"))
    }


def hears_ctrl_c() -> None:
    """For the start of a process: what a script runs in the background would ignore Ctrl-C."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def view(text: str, name: str = "test.weave") -> View:
    """A text, read."""
    return view_of(source_from_text(text, name))


def findings(text: str, of_rings: bool = False) -> tuple[Finding, ...]:
    """Everything the checks say about a text; of_rings: as `check --rings` does."""
    return findings_of(view(text), of_rings)


def read(text: str) -> tuple[Tree, tuple[Trouble, ...]]:
    """A text as the reader takes it, without any check."""
    return parse(source_from_text(text, "test.weave"))


def report(text: str, name: str = "test.weave", of_rings: bool = False) -> str:
    """The findings of a text as they are printed, without the line that sums up."""
    seen = view(text, name)
    whole = plain(file_lines(FileReport(seen.recipe.source, findings_of(seen, of_rings))))
    return whole.rsplit("\n\n", 1)[0].rstrip() if "\n\n" in whole else ""


def underlined(text: str, finding: Finding) -> str:
    """The words of the text that a finding underlines."""
    lines = source_from_text(text).lines
    return lines[finding.span.line - 1][finding.span.column - 1 : finding.span.end - 1]
