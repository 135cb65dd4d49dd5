"""A step that names a ring which is not there.

A bare name means a ring of this unit, placed in a step before. Rings of other units say where they
are: 'prev S' (the unit before), 'prev prev S', 'first S', 'last S', in sheets 'above S'. What may
lie beyond the end of the piece says 'if there'.

Wrong:

    weave "Spiral"
    rings:
      all  wire 1.0 mm, inside 4.5 mm, brass
    expect:
      A meets 4
    start:
      close A
    unit:
      add A through prev A, prev prev A lay front
    piece:
      chain 60 units

Right:

    weave "Spiral"
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

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ringstep.checks.diagnosis import Cause
from ringstep.checks.faults import Snagged
from ringstep.checks.forgotten import of_other_run
from ringstep.checks.strand_words import a_strand, no_strand, of_another_strand, which_strand
from ringstep.checks.view import View, comes_right
from ringstep.checks.wording import Offer, likely_offer, mend_offer
from ringstep.language.findings import Finding, Label, Mend, Rule, instead
from ringstep.language.lookalikes import look, meant, told_apart
from ringstep.language.read_shape import line_words
from ringstep.language.syntax import Ref, Step
from ringstep.language.words import listed, plural
from ringstep.weave.phrases import number_word, piece_phrase, place_phrase
from ringstep.weave.work import Ring, Snag, role_indexes

if TYPE_CHECKING:
    from ringstep.checks.edits import RenamePlaced

RULE = Rule("ring-not-there", "error")
_HERE = {
    "unit": "of this unit",
    "row": "of this unit of the row",
    "first row": "of this unit of the row",
    "last row": "of this unit of the row",
    "again": "of this unit of the row",
    "extra place": "of this unit of the row",
    "shared place": "of this unit of the row",
}
#: Of these the mend says everything that a hint would say.
_SAID = ("off the piece", "not yet")
_KINDS = ("unknown", "not yet", "taken out", "off the piece", "no such place", "numbered",
          "which strand")  # fmt: skip


def check(view: View) -> Iterator[Finding]:
    """Names that do not lead to a ring in the work."""
    from ringstep.checks.edits import AddRing, RenamePlaced

    parts_unread = "parts" in view.recipe.unread
    narrower: set[int] = set()
    for fault, cause in view.diagnosis.voiced(Snagged):
        snag = fault.snag
        if snag.kind in _KINDS and snag.ref is not None:
            if _of_unread_piece(view, snag.ref):
                continue
            if parts_unread and not _placing(view, snag.ref.name.role, None):
                continue  # the part may be described in a line that could not be read
            if cause is not None and isinstance(cause.edit, RenamePlaced):
                yield _misspelt(view, cause, cause.edit, snag)
                continue
            if told := _narrower(view, snag, snag.ref):
                if snag.step.number not in narrower:
                    narrower.add(snag.step.number)
                    yield Finding(RULE, snag.step.span, told[0], help=told[1])
                continue
            message, help, labels = _words(view, snag, snag.ref)
            likely = cause
            if _in_start(view, snag.ref):
                edit = cause.edit if cause is not None else None
                more = isinstance(edit, AddRing) and edit.new.name.role == snag.ref.name.role
                likely, help = (cause, ()) if more else (None, help)  # each unit has its own
            offer = likely_offer(view.recipe, likely, snag.step)
            if cause is not None and snag.kind in _SAID:
                help, offer = _why(view, snag.ref), mend_offer(view.recipe, cause, snag.step)
            longer = _one_row_more(view, snag) if snag.kind == "off the piece" else ()
            if first := _of_the_start(view, snag, snag.ref):
                help, offer = help[:1], Offer((f"to mend: {first.says}",), (first,))
            narrows = (f"if row {snag.place[0]} is narrower too, {m.says}" for m in longer)
            yield Finding(
                RULE,
                snag.ref.span,
                message,
                labels=labels,
                help=(*narrows, *help, *offer.help),
                mends=(*longer, *offer.mends),
            )


def _of_the_start(view: View, snag: Snag, ref: Ref) -> Mend | None:
    """A ring that only the start places and a move handles in a later unit, named by its place,
    where nothing is wrong with that."""
    homes = {b.kind for b in view.recipe.blocks if ref.name.role in b.placed}
    if snag.kind != "unknown" or homes != {"start"} or ref not in snag.step.refs:
        return None
    typed = f"first {ref.name}"
    mend = Mend(f"write '{typed}'", (instead(ref.span, typed),))
    return mend if comes_right(view, mend.edits) else None


def _of_unread_piece(view: View, ref: Ref) -> bool:
    """True for a place at an end of named units, whose order stands in a line not read."""
    named = [b for b in view.recipe.blocks if b.kind == "unit" and isinstance(b.label, str)]
    ends = bool(ref.strand) or (len(named) > 1 and bool({"first", "last"} & set(ref.places)))
    return ends and "piece" in view.recipe.unread


def _lacks_start(view: View, ref: Ref) -> bool:
    """True where the first unit of a chain has nothing before it."""
    layout = view.weave.layout
    return ref.places == ("prev",) and not layout.flat and layout.block("start") is None


def _why(view: View, ref: Ref) -> tuple[str, ...]:
    """Why there is nothing, where a beginner may not see it."""
    if _lacks_start(view, ref):
        return ("the first unit has nothing before it; a 'start:' section can be that",)
    return ()


def _misspelt(view: View, cause: Cause, edit: RenamePlaced, snag: Snag) -> Finding:
    """A name that is misspelt where it is placed, told there."""
    assert snag.ref is not None
    offer = mend_offer(view.recipe, cause)
    wanted = edit.name.role
    placed = edit.item.name.role if edit.name.index == edit.item.name.index else str(edit.item.name)
    why = (
        (told_apart(placed, wanted, "the name looked for"),) if look(placed) == look(wanted) else ()
    )
    return Finding(
        RULE,
        edit.item.name.span,
        f"step {edit.step.number} places '{placed}', and '{wanted}' is looked for",
        labels=(Label(snag.ref.span, f"step {snag.step.number} {_does(snag)} it"),),
        help=(*why, *offer.help),
        mends=offer.mends,
    )


def _in_order(ref: Ref | None) -> str | None:
    """An item with 'first' or 'last' before its other words of place; None where that is so."""
    if ref is None or ref.every or "above" in ref.places:
        return None
    ends = [p for p in ref.places if p in ("first", "last")]
    rest = [p for p in ref.places if p not in ends]
    moved = " ".join((*ends, *rest, str(ref.name)))
    return moved if len(ends) == 1 and ref.places[0] not in ends else None


def _words(view: View, snag: Snag, ref: Ref) -> tuple[str, tuple[str, ...], tuple[Label, ...]]:
    step = f"step {snag.step.number}"
    match snag.kind:
        case "numbered":
            places = " ".join(ref.places)
            if ref.every:
                return (
                    f"'{places} {ref.number} {ref.name}' counts, and 'every' is all of them",
                    (f"write 'every {ref.name}'; the count goes behind: 'picks {ref.number}'",),
                    (),
                )
            if ref.places and ref.number is not None and ref.places[-1] in ("prev", "next"):
                away = "before" if ref.places[-1] == "prev" else "after"
                more = " ".join((*ref.places[:-1], *[ref.places[-1]] * ref.number))
                return (
                    f"'{places} {ref.number} {ref.name}' could mean two things",
                    (
                        f"for the unit {number_word(ref.number)} {away}, write '{more} {ref.name}'",
                        f"for {ref.name} of the unit {away}, write '{places} {ref.name}'",
                    ),
                    (),
                )
            plain = f"{places} {ref.name}".strip()
            return (
                f"{step} counts the rings it goes through",
                (
                    f"write '{plain}', which means all {ref.name} of the unit;"
                    f" the count goes behind: 'picks {ref.number}'",
                ),
                (),
            )
        case "which strand":
            return (*which_strand(view, snag, ref), ())
        case "no such place" if ref.strand:
            return (*no_strand(view, snag, ref), ())
        case "no such place":
            flat = view.weave.layout.flat
            why = (
                "'above' is a word for sheets and tubes"
                if not flat and "above" in ref.places
                else "'first' and 'last' come before other words of place"
            )
            if ref.every:
                why = "'every' stands alone, after 'through', in 'row end:' and 'finish:'"
            if moved := _in_order(ref):
                why = f"{why}: '{moved}'"
            return f"{step} says '{ref}', which is no place in this piece", (why,), ()
        case "off the piece":
            return (
                f"{step} reaches for '{ref}', and the piece does not go that far",
                _off_help(view, ref),
                _as_wide(view, snag),
            )
        case "taken out":
            return (
                f"{step} {_does(snag)} {ref.name}, which has been taken out",
                ("name a ring that is still in the work, or take it out later",),
                _taken_out(view, snag, ref),
            )
        case "not yet":
            return _not_yet(view, snag, ref)
        case _:
            return _unknown(view, snag, ref)


def _as_wide(view: View, snag: Snag) -> tuple[Label, ...]:
    """How wide the row in which a ring is off the piece is beside the one above, where the sheet
    has a shape."""
    layout, row = view.weave.layout, snag.place[0]
    lines = [x for x in view.recipe.shape if x.rows[0] <= row <= layout.rows]
    if layout.shape is None or not lines or row < 2:
        return ()
    here, above = plural(layout.width(row), "place"), layout.width(row - 1)
    line = max(lines, key=lambda x: x.rows)
    return (Label(line.span, f"row {row} has {here}, row {row - 1} has {above:,}"),)


def _one_row_more(view: View, snag: Snag) -> tuple[Mend, ...]:
    """The line of the shape that ends in the row above, made to name this one too, where nothing
    is wrong with that."""
    row = snag.place[0]
    for line in view.recipe.shape:
        if line.change is not None and line.rows[1] == row - 1:
            typed = line_words(line, (line.rows[0], row))
            mend = Mend(f"write '{typed}'", (instead(line.span, typed),))
            if comes_right(view, mend.edits):
                return (mend,)
    return ()


def _off_help(view: View, ref: Ref) -> tuple[str, ...]:
    lines = []
    if _lacks_start(view, ref):
        lines.append("the first unit has nothing before it: write a 'start:' section,")
        lines.append(f"or '{ref} if there' to leave it out in the first unit")
    else:
        lines.append(f"write '{ref} if there' to leave it out where the piece ends")
        if view.weave.layout.flat:
            lines.append("or 'skip at edge' to leave the whole step out there")
    return tuple(lines)


def _taken_out(view: View, snag: Snag, ref: Ref) -> tuple[Label, ...]:
    for act in view.weave.work.acts:
        if act.step.kind == "take out" and snag.ring in act.handled:
            return (Label(act.step.span, f"{ref.name} is taken out here"),)
    return ()


def _placing(view: View, role: str, index: int | None) -> list[tuple[int, int]]:
    """(step, line) of every step that places such a ring."""
    if role not in view.weave.names:
        return []
    return [
        (s.number, s.span.line)
        for s in view.recipe.steps()
        for item in s.new
        if item.name.role == role and (index is None or index in item.indexes)
    ]


def _placing_here(view: View, snag: Snag) -> Step | None:
    """The step of the same block that places the ring, without which it is not in the work yet."""
    if snag.ref is None or snag.ref.places or snag.ring is None:
        return None
    placing = {number for number, _ in _placing(view, snag.ring.role, snag.ring.index)}
    return next((s for s in snag.block.steps if s.number in placing), None)


def _not_yet(view: View, snag: Snag, ref: Ref) -> tuple[str, tuple[str, ...], tuple[Label, ...]]:
    name = (
        ref.name
        if ref.name.index is not None
        else view.weave.name(snag.ring)
        if snag.ring
        else ref.name
    )
    where = f" {place_phrase(ref.places)}" if ref.places else ""
    here = _placing_here(view, snag)
    if here and here.number < snag.step.number and here.skip_at_edge:
        return (
            f"step {snag.step.number} {_does(snag)} {name}, which step {here.number} leaves out at"
            " the edge",
            ("name a ring that is there at the edge as well",),
            (Label(here.span, f"{name} is left out here"),),
        )
    if here and here.number >= snag.step.number:
        before = (
            f", or write 'prev {ref.name}' for the unit before" if snag.block.kind == "unit" else ""
        )
        return (
            f"step {snag.step.number} {_does(snag)} {name}, which is placed only in step"
            f" {here.number}",
            (f"move step {here.number} up{before}",),
            (Label(here.span, f"{name} is placed here"),),
        )
    return (
        f"step {snag.step.number} {_does(snag)} {name}{where}, which is not in the work yet",
        ("name rings of this unit or of one before it",),
        (),
    )


def _in_start(view: View, ref: Ref) -> bool:
    """True for a part that the start of a chain picks up, looked for in another unit."""
    if view.weave.layout.flat or ref.name.role not in view.recipe.part_roles:
        return False
    return any(r.role == ref.name.role and r.unit == 0 for r in view.weave.work.placed_by)


def _narrower(view: View, snag: Snag, ref: Ref) -> tuple[str, tuple[str, ...]] | None:
    """What is said of a ring that the row above left out at its own edge."""
    ring, layout, acts = snag.ring, view.weave.work.layout, view.weave.work.acts
    if ring is None or not layout.flat or "above" not in ref.places:
        return None
    if not any(a.skipped and (a.row, a.unit) == (ring.row, ring.unit) for a in acts):
        return None
    row, above = layout.row_number(snag.place[0]), layout.row_number(ring.row)
    return (
        f"row {row} reaches for a ring that row {above} left out at its edge: each row is narrower"
        " than the one above",
        (
            "for rows that stay as wide, write 'if there' behind the item that the edge lacks, in"
            " place of 'skip at edge'",
            "for rows that grow narrower, take 'skip at edge' out and say so under 'shape:', as in"
            " 'rows 2 to 6  each 1 less'",
        ),
    )


def _unknown(view: View, snag: Snag, ref: Ref) -> tuple[str, tuple[str, ...], tuple[Label, ...]]:
    step, name = snag.step.number, ref.name
    here = view.weave.work.layout.blocks_at(*snag.at) if snag.at else ()
    at = role_indexes(here)
    where = place_phrase(ref.places) or _HERE.get(snag.block.kind, f"of the {snag.block.kind}")
    where = piece_phrase(ref) if ref.of else where
    if snag.at and snag.at[1] == 0 and ref.places and not ref.of:
        where = "of the start"
    elsewhere = _placing(view, name.role, name.index)
    if ref.of and elsewhere:
        made = next(m for m in view.recipe.made if m.name.value == ref.of.name)
        have = list(dict.fromkeys(r for b in made.tree.blocks for r in b.placed))
        rings = f"rings of {ref.of.name}: {listed(have)}"
        return f"step {step} {_does(snag)} {name} {where}, which has none", (rings,), ()
    if name.role in at:
        have = [view.weave.name(r) for r in _rings(name.role, at[name.role], snag)]
        return (
            f"step {step} {_does(snag)} {name} {where}, and there is no such ring",
            (f"there {'is' if len(have) == 1 else 'are'} {listed(have)}",),
            (),
        )
    if _in_start(view, ref):
        return (
            f"step {step} {_does(snag)} {name} {where}, which has none",
            (f"{name} is in the start: write 'first {name}'",),
            (),
        )
    if not elsewhere:
        known = [*view.weave.names, *sorted(view.recipe.part_roles)]
        others = f"rings in this recipe: {listed(list(view.weave.names)) or 'none'}"
        help = meant(name.role, known, "the ring placed") or others
        message = f"step {step} {_does(snag)} {name}, and no step places a ring of that name"
        help = a_strand(view, ref) or help
        return message, (help,), ()
    more = [f"{name} is placed in step {elsewhere[0][0]} (line {elsewhere[0][1]})"]
    if told := of_another_strand(view, snag, ref):
        return f"step {step} {_does(snag)} {name} {where}, which has none", told, ()
    if snag.block.kind == "finish":
        homes = {b.kind for b in view.recipe.blocks for s in b.steps if s.number == elsewhere[0][0]}
        word = "first" if "start" in homes else "last"
        which = "ring of the start" if word == "first" else "one of the last unit"
        more.append(f"for the {which}, write '{word} {name}'")
    if of_other_run(view.weave, snag.block, name.role):
        home = next(b for b in view.recipe.blocks if name.role in b.placed)
        more = [f"{name} is placed in {home} alone, in step {elsewhere[0][0]}"
                f" (line {elsewhere[0][1]})"]  # fmt: skip
    elif not ref.places and snag.block.kind == "unit":
        units = tuple(b for b in view.recipe.blocks if b.kind == "unit")
        if name.role in role_indexes(units):
            more.append(f"for the one of the unit before, write 'prev {name}'")
            more.append(f"or place {name} in this unit before step {step}")
        else:
            more.append(f"place {name} in this unit before step {step}, or name another ring")
    return f"step {step} {_does(snag)} {name} {where}, which has none", tuple(more), ()


def _rings(role: str, indexes: tuple[int, ...], snag: Snag) -> list[Ring]:
    row, unit = snag.at or (1, 1)
    return [Ring(role, i, row, unit) for i in indexes]


def _does(snag: Snag) -> str:
    """What the step does with the ring it names."""
    kind = snag.step.kind
    return {"take out": "takes out", "reopen": "opens"}.get(kind, "goes through")
