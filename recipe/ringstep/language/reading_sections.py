"""What is wrong with a heading, or with the sections of a whole recipe, in a maker's words."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from ringstep.language.findings import Trouble
from ringstep.language.source import Span
from ringstep.language.words import HEADINGS, listed, nearest

if TYPE_CHECKING:
    from ringstep.language.tree import Tree


#: Said of 'join:' where no piece has a name.
NOTHING_TO_JOIN = (
    "there is nothing to join: no piece that is made first has a name",
    "head each with its name, such as 'piece panel:', its size and its sections below",
)

#: What makers call a place where rounds grow, and one where they shrink.
_PLACES = tuple(
    (kind, rf"(at )?((a|an|each|every) )?({words})( (places?|rings?|units?))?")
    for kind, words in (
        ("extra place", r"extras?|increas\w+|expan\w+|added"),
        ("shared place", r"shared|decreas\w+|reduc\w+|contract\w+"),
    )
)


def explain_heading(text: str, span: Span) -> Trouble:
    """Say why a line that ends in a colon is no heading of ours."""
    words = text.strip().rstrip(":").strip()
    if named := re.fullmatch(r"sizes\s+(?:of\s+)?(\S+)", words, re.I):
        begin = f"'{named[1]}', as in '{named[1]}  all  wire …'"
        help = f"write 'sizes:', and begin its lines with {begin}"
        return Trouble(span, f"there is no section '{words}'", help=(help,))
    if (of := re.fullmatch(r"picture\s+(?:for\s+|in\s+)?([^\s,]+)", words, re.I)) and of[1] != "of":
        return Trouble(
            span, f"there is no section '{words}'", help=(f"write 'picture of {of[1]}:'",)
        )
    for kind, habit in _PLACES:
        if re.fullmatch(habit, words, re.I) and words.casefold() != kind:
            return Trouble(span, f"there is no section '{words}'", help=(f"write '{kind}:'",))
    if near := nearest(words, HEADINGS):
        return Trouble(
            span, f"there is no section '{words}'", help=(f"the nearest heading is '{near}:'",)
        )
    if words.casefold().startswith(("unit ", "units ")):
        return Trouble(
            span,
            f"'{words}' is not how a unit block is headed",
            help=("write 'unit:', 'unit 1:' or 'unit' and one name",),
        )
    return Trouble(
        span,
        f"there is no section '{words}'",
        help=(f"a recipe has the sections {listed([h + ':' for h in HEADINGS])}",),
    )


def _pieces(recipe: Tree, tell: Callable[..., None]) -> None:
    """What a recipe of pieces that are made first lacks, and what none of them can be."""
    if not recipe.made:
        tell(recipe.source.heading_span("join"), *NOTHING_TO_JOIN)
    elif "join" not in recipe.headings:
        name = recipe.made[0].name
        tell(
            name.span,
            f"nothing says how the piece '{name.value}' is joined",
            "write a section 'join:' with steps such as",
            f"  add J through {name.value} 1 last A, {name.value} 2 first A picks 2",
        )
    for made in recipe.made:
        name, tree = made.name, made.tree
        kinds = {b.kind for b in tree.blocks}
        if not tree.blocks:
            tell(
                name.span,
                f"the piece '{name.value}' has no steps",
                f"write its sections below 'piece {name.value}:', such as 'start:' and 'unit:'",
            )
        elif tree.piece is None and kinds & {"unit", "row", "last row", "again"}:
            rows = bool(kinds & {"row", "last row"})
            size = "sheet 8 rows of 12 units" if rows else "chain 24 units"
            tell(
                name.span,
                f"nothing says how large the piece '{name.value}' is",
                f"write its size below it, such as '{size}'",
            )
        if tree.piece and tree.piece.strands:
            tell(
                tree.piece.span,
                "a piece that is made first is a chain, a loop, a sheet or a tube",
                "make a piece of each strand, and join them",
            )
        if tree.piece and tree.piece.variant:
            tell(
                tree.piece.variant.span,
                "pieces that are joined are made in one variant, the first or the one asked for",
                "take the line out; '--variant' names another one",
            )
    if recipe.picture and recipe.made:
        tell(
            recipe.picture.span,
            "a picture colours one sheet or tube, and this recipe joins pieces",
            "write the sheet as a recipe of its own, with its picture",
        )
    for kind in recipe.rings if recipe.made else ():
        if kind.along:
            tell(
                kind.along.span,
                "sizes that change along the piece are said of one piece, and this recipe joins"
                " several",
                "give the rings of other sizes a name of their own",
            )


def explain_section(recipe: Tree) -> list[Trouble]:
    """Sections a recipe cannot do without; to be asked only where every line was read."""
    found: list[Trouble] = []

    def tell(span: Span, message: str, *help: str) -> None:
        found.append(Trouble(span, message, help))

    last = max((i for i, text in enumerate(recipe.source.plain, 1) if text.strip()), default=1)
    length = len(recipe.source.lines[last - 1]) if recipe.source.lines else 0
    end = Span(last, 1, max(2, length + 1))
    kinds = {b.kind for b in recipe.every_block}
    for block in recipe.every_block:
        if not block.steps:
            tell(
                block.span,
                f"the section '{block}:' is empty",
                "write its steps under it, or take it out",
            )
    if not kinds:
        tell(
            end,
            "the recipe has no steps",
            "begin the part that repeats with 'unit:' and write its steps, one a line:",
            "unit:",
            "  add A through prev A",
        )
    if "rings" not in recipe.headings:
        tell(
            Span(1, 1, len(recipe.source.lines[0]) + 1),
            "the recipe has no 'rings:' section",
            "add one that says which rings are used:",
            "rings:",
            "  all  wire 1.2 mm, inside 5 mm, copper",
        )
    if recipe.made or "join" in recipe.headings:
        _pieces(recipe, tell)
        return found
    needs = any(
        b.kind in ("row", "last row", "again")
        or (b.kind == "unit" and not isinstance(b.label, int))
        for b in recipe.blocks
    )
    if recipe.piece is None and needs and "piece" in recipe.headings:
        tell(
            end,
            "nothing in 'piece:' says what is made",
            "begin it with a line such as 'chain 24 units' or 'loop 57 units'",
        )
    elif recipe.piece is None and needs:
        unit = "sheet 8 rows of 12 units" if "row" in kinds else "chain 24 units"
        tell(
            end,
            "the recipe has no 'piece:' section, so nothing says how often the unit repeats",
            *("add at the end:", "piece:", f"  {unit}"),
        )
    return found
