"""What is wrong with the links of a recipe, as plain facts that can be counted and compared.

Comes in: a `Model` (a recipe carried out). Goes out: a list of `Fault`s. Blame
compares the faults of a recipe with those of the same recipe mended in one place, so everything
here is cheap, has no words, and depends on nothing but the recipe's meaning.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from ringstep.language.record import record
from ringstep.language.syntax import Block, Step
from ringstep.weave.layout import refs_of
from ringstep.weave.model import Count, Model
from ringstep.weave.ring_graph import pieces
from ringstep.weave.steps import Ring, Snag, role_indexes

if TYPE_CHECKING:
    from ringstep.weave.siblings import Difference

FaultKind = Literal[
    "snag",
    "picks",
    "count",
    "sibling",
    "loose",
    "pieces",
    "strands",
    "size",
    "unused",
    "forgotten",
]

#: Handling moves make no link; what is wrong in them is a warning of its own.
LINKING = frozenset({"close", "add", "reopen", "take out"})


@record
class Fault:
    """One thing wrong. key says which, so that two lists of faults can be compared."""

    kind: FaultKind
    key: tuple[object, ...]
    weight: int
    step: Step | None = None
    snag: Snag | None = None
    count: Count | None = None
    found: int = 0
    difference: Difference | None = None
    block: Block | None = None
    names: tuple[str, ...] = ()
    rings: tuple[Ring, ...] = ()


def _picks(model: Model) -> list[Fault]:
    """Stated pick-up counts against what the lists come to, wherever nothing is left out."""
    found: dict[int, Fault] = {}
    snagged = {s.step.number for s in model.snags}
    for act in model.work.acts:
        step = act.step
        if step.picks is None or act.skipped or act.dropped or step.number in found:
            continue
        if step.number not in snagged and len(act.through) != step.picks.number:
            off = abs(len(act.through) - step.picks.number)
            found[step.number] = Fault(
                "picks",
                ("picks", step.number),
                off,
                step,
                found=len(act.through),
                rings=act.through,
            )
    return list(found.values())


def _apart(model: Model) -> list[Fault]:
    """Loose rings, and a piece that falls apart."""
    work = model.work
    joined = {r for pair in work.held for r in pair}
    loose: dict[int, list[Ring]] = {}
    if len(work.links) > 1:
        for ring, others in work.links.items():
            if not others and ring not in joined:
                loose.setdefault(work.acts[work.placed_by[ring]].step.number, []).append(ring)
    found = []
    for number, rings in loose.items():
        step = work.acts[work.placed_by[rings[0]]].step
        found.append(
            Fault(
                "loose",
                ("loose", number),
                len({(r.role, r.index) for r in rings}),
                step,
                rings=tuple(rings),
            )
        )
    lone = {r for rings in loose.values() for r in rings}
    groups = [g for g in pieces(work) if not g <= lone]
    if len(groups) > 1:
        first = min(groups[1])
        step = work.acts[work.placed_by[first]].step
        found.append(Fault("pieces", ("pieces",), 2, step, found=len(groups), rings=(first,)))
    elif model.repeat and not loose and (strands := model.repeat.strands()) != 1:
        found.append(Fault("strands", ("strands",), 2, None, found=strands))
    return found


def _unit_size(model: Model) -> list[Fault]:
    """Rings a unit, against the promise."""
    found: list[Fault] = []
    parts = model.recipe.part_roles
    for promise in model.recipe.unit_sizes:
        sizes: dict[str, int] = {}
        for block in model.recipe.blocks:
            if block.kind in ("unit", "row", "again"):
                rings = {r: i for r, i in block.placed.items() if r not in parts}
                key = "row" if block.kind == "again" else str(block)
                sizes[key] = sizes.get(key, 0) + sum(map(len, rings.values()))
        for name, size in sizes.items():
            if size != promise.count:
                found.append(
                    Fault(
                        "size",
                        ("size", name, promise.span.line),
                        abs(size - promise.count),
                        found=size,
                    )
                )
    return found


def _unused(model: Model) -> list[Fault]:
    """Ring kinds and parts that are described and never used; key: their line."""
    named = {r.name.role for s in model.recipe.steps() for r in refs_of(s)}
    placed = role_indexes(model.recipe.blocks)
    found = []
    for kind in model.recipe.rings:
        role, index = kind.name.role, kind.name.index
        if (role.casefold() == "all" and index is None) or (
            role in placed and (index is None or index in placed[role])
        ):
            continue
        found.append(Fault("unused", ("unused", kind.span.line), 1))
    for part in model.recipe.parts:
        if part.name.role not in named and part.name.role not in placed:
            found.append(Fault("unused", ("unused", part.span.line), 1))
    return found


def _unlike_siblings(model: Model) -> list[Fault]:
    """Written-out units that differ from their siblings."""
    if model.layout.written == 0:
        return []
    from ringstep.weave.siblings import sibling_differences

    return [
        # A lay or a move says itself what is wrong; no change of links is tried for it.
        Fault(
            "sibling",
            ("sibling", d.block.label, d.kind),
            d.weight if d.kind in ("links", "rings") else 0,
            d.step,
            difference=d,
        )
        for d in sibling_differences(model.work, model.recipe)
    ]


def _snags(model: Model) -> list[Fault]:
    """Steps that cannot be carried out as they are written."""
    return [
        Fault(
            "snag",
            ("snag", s.kind, s.step.number, s.ref and s.ref.span),
            0 if s.kind == "numbered" else 4,  # a number is read over, so nothing follows from it
            s.step,
            snag=s,
        )
        for s in model.snags
        if s.step.kind in LINKING
    ]


def _counts(model: Model) -> list[Fault]:
    """Finished rings that do not keep their promise."""
    off = [c for c in model.counts if c.off()]
    return [Fault("count", ("count", c.role, c.index, c.unit), c.off(), count=c) for c in off]


_KINDS = (_snags, _picks, _counts, _unlike_siblings, _apart, _unit_size, _unused)


def each_fault(model: Model) -> Iterator[Fault]:
    """All that is wrong with the links, kind by kind, worked out no further than it is asked for.

    Within a kind in the order of the text, where it has a step.
    """
    for find in _KINDS:
        yield from find(model)


def find_faults(model: Model) -> list[Fault]:
    """All that is wrong with the links."""
    return list(each_fault(model))
