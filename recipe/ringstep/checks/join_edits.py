"""Changes of the steps that join pieces, for when something is wrong with how they are joined.

Comes in: a recipe of pieces that are made first. Goes out: edits, each with its rank: a ring more
in a list or one fewer, or an item that names another piece, edge, end or ring, or the other way.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ringstep.checks.edits import (
    AddRing,
    ChangePicks,
    DropStep,
    Edit,
    RemoveRing,
    ReplaceRing,
)
from ringstep.language.syntax import OPENING, Name, OfPiece, Ref, Step
from ringstep.weave.joined import Joined, edges_had
from ringstep.weave.piece import Weave
from ringstep.weave.promises import lacking
from ringstep.weave.work import Act, Ring


def join_edits(weave: Weave) -> Iterator[Edit]:
    """Every way to mend one list of the joining steps by one item."""
    layout = weave.layout
    assert isinstance(layout, Joined)
    steps = [step for step in layout.joining if step.kind in OPENING]
    parts = sorted(weave.recipe.part_roles)
    short, over = _odd(weave)
    odd, snagged = short | over, {snag.step.number for snag in weave.snags}
    nowhere = {snag.ref.span for snag in weave.snags if snag.ref}
    done: dict[int, list[Act]] = {}
    for act in weave.work.acts:
        if act.row < 0:
            done.setdefault(act.step.number, []).append(act)
    seen: set[object] = set()
    for step in steps:
        acts = done.get(step.number, [])
        new = {ring for act in acts for ring in (*act.new, *act.handled)}
        met = {ring for act in acts for ring in act.through}
        what = (step.kind, step.placed, tuple(map(str, step.through)))
        if what in seen:
            yield DropStep(step, rank=(0, 0))
        seen.add(what)
        counts = {act.picks for act in acts if not act.dropped}
        if step.picks and len(counts) == 1 and not counts & {0, step.picks.number}:
            yield ChangePicks(step, counts.pop(), rank=(1, 0))
        if step.number in snagged or new & short or any(map(_miscounted, acts)):
            for ref, rank in _added(layout, steps, step):
                yield AddRing(step, ref, rank=(1, *rank))
            for part in parts if not any(r.name.role in parts for r in step.through) else ():
                ref = Ref((), Name(part, None, step.span), False, step.span)
                yield AddRing(step, ref, rank=(1, 3))
        elif not (new | met) & odd:
            continue
        for ref in step.through if len(step.through) > 1 else ():
            # What leads nowhere was meant for some ring.
            yield RemoveRing(step, ref, rank=(3, 0) if ref.span in nowhere else (1, 1))
        for ref in step.through:
            for instead, near in _instead(weave, layout, step, ref):
                yield ReplaceRing(step, ref, instead, rank=(2, near))


def _miscounted(act: Act) -> bool:
    stated = act.step.picks
    return stated is not None and not act.dropped and act.picks != stated.number


def _odd(weave: Weave) -> tuple[set[Ring], set[Ring]]:
    """The rings that meet too few others by their promise, and those that meet too many."""
    short, over = set[Ring](), set[Ring]()
    for ring in weave.finished:
        if promise := weave.promise(ring.role, ring.index):
            gaps = [lacking((choice,), weave.met(ring), {}) for choice in promise.choices]
            least = min(missing.total() + extra.total() for missing, extra in gaps)
            for missing, extra in gaps:
                if missing.total() + extra.total() == least:
                    short |= {ring} if missing else set()
                    over |= {ring} if extra else set()
    return short, over


def _copies(layout: Joined, name: str) -> list[int | None]:
    """The numbers of the pieces of a name; None where there is one."""
    own = [c.number for c in layout.copies if layout.recipe.made[c.made].name.value == name]
    return list(own) if len(own) > 1 else [None]


def _key(ref: Ref) -> tuple[object, ...]:
    return ref.of, ref.places, ref.name.role, ref.name.index


def _added(layout: Joined, steps: list[Step], step: Step) -> Iterator[tuple[Ref, tuple[int, int]]]:
    """Rings that a joining step could also go through: those that the others do, of any piece."""
    have = {_key(ref) for ref in step.through}
    last = max((ref.of.number or 0 for ref in step.through if ref.of), default=0)
    twins = [s for s in steps if s.placed == step.placed]
    along = any(ref.of and ref.of.edge for ref in step.through)
    seen: set[tuple[object, ...]] = set()
    for other in steps:
        for ref in other.through:
            if ref.of is None or bool(ref.of.edge) != along:
                continue
            for number in _copies(layout, ref.of.name):
                for piece in _edges(layout, replace(ref.of, number=number)):
                    new = replace(ref, of=piece, span=step.span, then=False)
                    if _key(new) in have | seen:
                        continue
                    seen.add(_key(new))
                    far = 3 * (piece.edge != ref.of.edge) + (other not in twins)
                    yield new, (far + _beside(step, new), abs((number or 0) - last - 1))


def _beside(step: Step, new: Ref) -> int:
    """How ill a ring fits beside those that a list has: best where it stands in one of the pieces
    as another ring does in the other, and else in a piece that the list does not name."""
    assert new.of is not None
    one = (new.of.name, new.of.number)
    own = [r for r in step.through if r.of and (r.of.name, r.of.number) == one]
    others = [r for r in step.through if r.of and (r.of.name, r.of.number) != one]
    if not own:
        return 1
    same = all(r.of == new.of for r in own)
    return 0 if same and any(r.places == new.places for r in others) else 2


def _edges(layout: Joined, of: OfPiece) -> Iterator[OfPiece]:
    """The same edge of a piece, then the others that it has, each both ways."""
    if not of.edge:
        yield of
        return
    copy = next(c for c in layout.copies if layout.recipe.made[c.made].name.value == of.name)
    for edge in sorted(edges_had(copy.layout), key=lambda edge: edge != of.edge):
        yield replace(of, edge=edge)
        yield replace(of, edge=edge, backwards=not of.backwards)


def _instead(weave: Weave, layout: Joined, step: Step, ref: Ref) -> Iterator[tuple[Ref, int]]:
    """Items that differ from one in one word."""
    if ref.of is None:
        return
    of = ref.of
    edges = [r.of.edge for r in step.through if r.of and r.of.edge]
    for edge in dict.fromkeys(edges) if not of.edge and not ref.places else ():
        for piece in _edges(layout, replace(of, edge=edge)):
            yield replace(ref, of=piece), piece.backwards
    for word in ref.places if not of.edge and len(ref.places) == 1 else ():
        if word in ("first row", "last row"):
            yield replace(ref, of=replace(of, edge=word), places=()), 0
    for number in _copies(layout, of.name):
        if number != of.number:
            yield replace(ref, of=replace(of, number=number)), 0
    for piece in _edges(layout, of):
        if piece != of and (piece.edge == of.edge or piece.backwards == of.backwards):
            yield replace(ref, of=piece), 1
    ends = {"first": "last", "last": "first", "first row": "last row", "last row": "first row",
            "next": "prev", "prev": "next"}  # fmt: skip
    for at, word in enumerate(ref.places):
        yield replace(ref, places=(*ref.places[:at], *ref.places[at + 1 :])), 1
        if word in ends:
            yield replace(ref, places=(*ref.places[:at], ends[word], *ref.places[at + 1 :])), 1
    made = next((m for m in layout.recipe.made if m.name.value == of.name), None)
    placed = (
        {role: have for b in made.tree.blocks for role, have in b.placed.items()} if made else {}
    )
    for role, have in placed.items():
        names = [None, *have] if len(have) > 1 else [None]
        for index in names:
            if (role, index) != (ref.name.role, ref.name.index):
                # One number is as easily mistaken as the other.
                near = 0 if role == ref.name.role and index and ref.name.index else 2
                yield replace(ref, name=Name(role, index, ref.name.span)), near
