"""A step forgotten whole: rings that a unit uses or promises and no step of it places.

Comes in: the faults of a recipe. Goes out: one fault for each block that lacks a step, in place of
everything that follows from it; an empty list where no step seems forgotten.
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.faults import Fault, Forgotten, Miscounted, OffPromise, Snagged, Unlike
from ringstep.language.syntax import Block, Ref, Step, joined
from ringstep.language.words import nearest
from ringstep.weave.layout import refs_of
from ringstep.weave.piece import Weave, is_for_all
from ringstep.weave.work import role_indexes

#: Sections whose steps are worked at each place of a row.
ROWS = ("row", "first row", "last row")
_WORKED = ("unit", "row", "again", "first row", "last row", "extra place", "shared place")


def _lacking(weave: Weave, fault: Snagged) -> tuple[Block, Ref] | None:
    """The block that should place what a snag looks for, and the item that looks for it."""
    snag = fault.snag
    if snag.kind != "unknown" or snag.ref is None or snag.at is None:
        return None
    if any(p in ("first", "last") for p in snag.ref.places):
        return None
    if snag.block.kind == "last row" and snag.ref.name.role in snag.block.placed:
        return None  # no other row is expected to have what the last one has
    blocks = [b for b in weave.work.layout.blocks_at(*snag.at) if b.kind in _WORKED]
    return (blocks[-1], snag.ref) if blocks else None


def of_other_run(weave: Weave, block: Block, role: str) -> bool:
    """True where, in a piece of runs, a unit of another name alone places a role."""
    piece, placing = weave.recipe.piece, [b for b in weave.recipe.blocks if role in b.placed]
    in_runs = piece is not None and bool(piece.runs) and block.kind == "unit"
    return in_runs and [b.kind for b in placing] == ["unit"] and placing[0].label != block.label


def _expected(weave: Weave, fault: Snagged, block: Block, ref: Ref, uses: int) -> bool:
    """True where the recipe otherwise speaks of such a ring as one of that block."""
    role, index = ref.name.role, ref.name.index
    here = block.placed.get(role, ())
    if (strands := weave.work.layout.strands) and strands.placing(role, index):
        # Mostly a ring of another strand; but a step that hangs on it alone, and in the first unit
        # on that of the start, goes on from one of its own strand.
        start = weave.layout.block("start")
        begun = start is not None and role in start.placed and not here
        if not begun or ref.places[:1] != ("prev",) or len(fault.step.through) > 1:
            return False
    if role in weave.recipe.part_roles:
        return False  # which no step places
    if of_other_run(weave, block, role):
        return False
    if index is not None and here and index not in here:
        # `M1` where the unit has an M2: numbers begin at 1, so the lower ones were meant.
        return index < max(here) or uses > 1
    if here:
        return False
    others = [b for b in weave.recipe.blocks if b is not block and b.kind == block.kind]
    return role in weave.promised or any(role in b.placed for b in others)


def forgotten_steps(weave: Weave, faults: list[Fault]) -> list[Fault]:
    """See the module."""
    looked: dict[tuple[object, str, int | None], list[tuple[Snagged, Block, Ref]]] = {}
    for fault in faults:
        if isinstance(fault, Snagged) and (found := _lacking(weave, fault)):
            block, ref = found
            key = (block.span, ref.name.role, ref.name.index)
            looked.setdefault(key, []).append((fault, block, ref))
    by_block: dict[object, list[tuple[Snagged, Block, Ref]]] = {}
    for uses in looked.values():
        if _expected(weave, *uses[0], len(uses)):
            by_block.setdefault(uses[0][1].span, []).extend(uses)
    found_faults: list[Fault] = []
    for uses in by_block.values():
        uses.sort(key=lambda u: u[0].step.number)
        first, block, _ = uses[0]
        names = tuple(
            dict.fromkeys(
                ref.name.role if ref.name.index is None else joined(ref.name.role, ref.name.index)
                for _, _, ref in uses
            )
        )
        found_faults.append(Forgotten(block, names, first.step, first.snag))
    if not found_faults:
        found_faults = _short_start(weave, faults) or _promised_nowhere(weave)
    if not found_faults:
        return []
    explained = {id(f) for uses in by_block.values() for f, _, _ in uses}
    if any(isinstance(f, Forgotten) and f.block.kind == "start" for f in found_faults):
        return found_faults
    others = [
        f
        for f in faults
        if isinstance(f, Snagged)
        and id(f) not in explained
        and f.snag.kind not in ("unknown", "not yet", "through nothing")
    ]
    return [*found_faults, *others]


def _promised_nowhere(weave: Weave) -> list[Fault]:
    """Roles that are promised neighbours, have no like name, and are placed by no step."""
    blocks = [b for b in weave.recipe.blocks if b.kind in _WORKED and b.steps]
    missing = [
        m.name.role
        for m in weave.recipe.meets
        if m.name.role not in weave.roles
        and not is_for_all(m)
        and not nearest(m.name.role, list(weave.roles))
    ]
    kinds = {k.name.role for k in weave.recipe.rings}
    named = {r for m in weave.recipe.meets for r in m.roles}
    sure = tuple(dict.fromkeys(r for r in missing if r in kinds or r in named))
    if not sure or not blocks:
        return []
    block = blocks[-1]
    if weave.layout.strands:  # of which no unit is the last
        naming = (b for b in weave.recipe.blocks for s in b.steps for r in refs_of(s)
                  if r.name.role == sure[0])  # fmt: skip
        block = next(naming, block)
    return [Forgotten(block, sure)]


def _short_start(weave: Weave, faults: list[Fault]) -> list[Fault]:
    """Rings of a unit that the start, the unit before the first, does not place.

    Only where everything keeps its count once the first unit is past; else the list is at fault.
    """
    start = weave.layout.block("start")
    units = [b for b in weave.recipe.blocks if b.kind == "unit"]
    # That a ring of the start alone has too few follows, where it serves several strands.
    follows = bool(weave.layout.strands)
    off = [f for f in faults if isinstance(f, OffPromise | Unlike)
           and not (follows and isinstance(f, OffPromise) and f.count.block is start)]  # fmt: skip
    if start is None or not units or off:
        return []
    have, every = start.placed, role_indexes(tuple(units))
    start_steps = {s.number for s in start.steps}
    sizes: dict[int, set[int]] = {}
    for act in weave.work.acts:
        sizes.setdefault(act.step.number, set()).add(len(act.through))
    lacking: dict[str, None] = {}
    short: set[str] = set()
    first: Fault | None = None
    for fault in faults:
        step = fault.step
        if step is None or step.number in start_steps:
            continue
        home = next((b for b in units if any(s.number == step.number for s in b.steps)), start)
        snag = fault.snag if isinstance(fault, Snagged) else None
        if isinstance(fault, Miscounted) and step.picks is not None:
            refs = step.through if step.picks.number in sizes.get(step.number, ()) else ()
        elif snag is not None and snag.kind == "unknown" and snag.ref and snag.at:
            refs = (snag.ref,) if snag.at[1] == 0 and "first" not in snag.ref.places else ()
        else:
            continue
        for ref in refs:
            there = set(have.get(ref.name.role, ()))
            # A strand goes on from its own rings alone.
            own = role_indexes((home,)) if weave.layout.strands else every
            gone = [i for i in own.get(ref.name.role, ()) if i not in there]
            if ref.name.index is not None:
                gone = [i for i in gone if i == ref.name.index]
            if ref.places and gone and not of_other_run(weave, home, ref.name.role):
                first = first or fault
                whole = ref.name.role not in have and ref.name.index is None
                names = [ref.name.role] if whole else [joined(ref.name.role, i) for i in gone]
                lacking |= dict.fromkeys(names)
                short.add(ref.name.role)
    lone = {i.name.role for s in start.steps for i in s.new if i.count is i.name.index is None}
    if first is None or any(role in lone for role in short):
        return []  # where one ring is placed, a number was forgotten and no step
    return [Forgotten(start, tuple(lacking), first.step)]


def whole_rows(weave: Weave) -> Iterator[Step]:
    """Steps of a row that place, at each of its places, as many rings as the row has places."""
    wide = weave.layout.units
    for block in weave.recipe.blocks if weave.layout.flat and wide > 2 else ():
        for step in block.steps if block.kind in ROWS else ():
            if len(step.new) == 1 and step.new[0].count == wide:
                yield step
