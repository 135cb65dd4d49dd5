"""Where a ring or part is placed and named, and what to type to call it otherwise."""

from __future__ import annotations

import re

from ringstep.language.findings import TextEdit, instead, typed_in
from ringstep.language.names import Named, names_in
from ringstep.language.parse import parse, standing
from ringstep.language.source import Refused, Span, source_from_text
from ringstep.language.syntax import joined
from ringstep.language.words import RESERVED
from ringstep.table.seen import Seen, seen

#: What a name may be made of: the same as in the grammar, and no number at its end.
_MARKS = r"""\s,:#"=/;.!?()\[\]{}«»‘’“-‟"""
_NAME = re.compile(rf"(?!\d)[^{_MARKS}]*[^\d{_MARKS}]")


def uses(text: str, line: int, column: int) -> tuple[Span, ...]:
    """Every place where the ring or part at a place is named, whatever its number: the names."""
    now = seen(text)
    here = now.named_at(line, column) if now else None
    return tuple(n.span for n in now.names if n.role == here.role) if now and here else ()


def placed(text: str, line: int, column: int) -> Span | None:
    """Where the ring named at a place is placed: by the step before it in its section, else by
    another of that section, else by the first that does; of what no step places the first line
    that names it."""
    now = seen(text)
    here = now.named_at(line, column) if now else None
    if not now or not here:
        return None
    alike = [n for n in now.names if n.role == here.role]
    placing = [n for n in alike if n.places and here.index in (None, n.index)] or [
        n for n in alike if n.places
    ]
    if here.places or line not in now.steps:
        return here.span if here.places else (placing or alike)[0].span
    step, block, _ = now.steps[line]
    own = {s.span.line: s.number for s in block.steps}
    near = [n for n in placing if n.span.line in own]
    before = [n for n in near if own[n.span.line] < step.number]
    return (before[-1:] or near or placing or alike)[0].span


def renamed(text: str, line: int, column: int) -> tuple[Span, str] | None:
    """What is renamed at a place: the name there without its number, and how it reads."""
    now = seen(text)
    here = now.named_at(line, column) if now else None
    if here is None:
        return None
    span = here.span
    return Span(span.line, span.column, span.column + len(here.role)), here.role


def rename(text: str, line: int, column: int, new: str) -> tuple[TextEdit, ...]:
    """What to type so that the ring or part named at a place has a new name everywhere.

    Raises `Refused` where no ring is named there, and where the name cannot be taken.
    """
    now = seen(text)
    here = now.named_at(line, column) if now else None
    if not now or not here:
        raise Refused("no ring or part is named here; put the cursor on its name")
    new = new.strip()
    if new == here.role:
        return ()
    _may_be_called(now, new)
    edits = tuple(instead(n.span, _as_typed(now, n, new)) for n in now.names if n.role == here.role)
    if not _same_after(now, edits, here.role, new):
        raise Refused(f"with '{new}' the recipe would not read as it does now; choose another name")
    return edits


def _may_be_called(now: Seen, new: str) -> None:
    """Raises `Refused` where a ring cannot be called that."""
    if not _NAME.fullmatch(new):
        raise Refused(
            f"'{new}' is no name for a ring: a name is one word without marks, which neither begins"
            " nor ends with a number; numbers are put behind it by the steps"
        )
    if new.casefold() in RESERVED | {"all"}:
        raise Refused(f"'{new}' is a word of the language, so no ring can be called that")
    recipe = now.view.recipe
    taken = {**dict.fromkeys(now.roles, "a ring or part")}
    for block in recipe.every_block:
        taken.setdefault(str(block.label), f"a {block.kind}")
    for view in (now.view, *now.view.pieces):
        for order in view.recipe.piece.order if view.recipe.piece else ():
            taken.setdefault(order.value, "a unit")
    taken |= {v.name: "a variant" for v in recipe.variants}
    taken |= {made.name.value: "a piece" for made in recipe.made}
    taken |= {one.size: "a set of sizes" for one in recipe.sizes}
    if new in taken:
        raise Refused(f"{taken[new]} is called '{new}' already; choose another name")


def _as_typed(now: Seen, named: Named, new: str) -> str:
    """A name as it is typed in the place of another one: M1, core 1."""
    if named.index is None:
        return new
    number = now.line(named.span.line)[named.span.column - 1 : named.span.end - 1]
    number = number[len(named.role) :].strip()
    return joined(new, 0)[:-1] + number


def _same_after(now: Seen, edits: tuple[TextEdit, ...], old: str, new: str) -> bool:
    """True where the text after the edits names the same rings in the same lines, read as well."""
    after = source_from_text("\n".join(typed_in(now.source.lines, edits)))
    found = names_in(after, standing(after))

    def told(names: tuple[Named, ...]) -> list[tuple[object, ...]]:
        read = (n for n in names if n.read)
        return [(n.span.line, new if n.role == old else n.role, n.index, n.places) for n in read]

    fewer = len(parse(after)[1]) <= len(now.view.troubles)
    return fewer and told(found) == told(now.names)
