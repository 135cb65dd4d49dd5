"""From a wrong count at a ring to the step that most likely caused it.

Comes in: a recipe's faults. Goes out: `Cause`s, each a single edit that makes the faults it
explains go away. A wrong count is found at a ring, but the fault lies in a step; so every small
edit is tried on the recipe itself and judged by what it leaves: the code that finds faults decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from operator import itemgetter

from ringstep.checks.diagnosis import Cause, Diagnosis
from ringstep.checks.edits import Edit, apply, list_edits, replace_edits, step_edits
from ringstep.checks.faults import Fault, each_fault
from ringstep.checks.forgotten import forgotten_steps
from ringstep.weave.effort import moves
from ringstep.weave.piece import Weave

#: Blame is for people waiting at a screen; past so many list items carried out in trials it says
#: what it measured instead. Counted, not timed, so that the same recipe always says the same.
MOST_WORK = 2_000_000
#: More independent slips than this in one recipe are mended one after the other.
MOST_CAUSES = 4


def _weight(faults: Iterable[Fault]) -> int:
    return sum(f.weight for f in faults)


def _trials(weave: Weave) -> Iterator[Iterator[Edit]]:
    yield list_edits(weave.recipe)
    yield step_edits(weave.recipe)
    yield replace_edits(weave.recipe)


def _steps_at_fault(faults: list[Fault]) -> set[int]:
    """Steps that are themselves at fault, and the like steps of a sibling that may be instead."""
    at = {f.step.number for f in faults if f.step}
    return at | {
        f.difference.twin.number
        for f in faults
        if f.difference and f.difference.twin and f.difference.even
    }


def _suspects(weave: Weave, faults: list[Fault]) -> set[int] | None:
    """The steps worth trying; None where that is all of them.

    In a recipe written out unit after unit, what is wrong in a unit was done in it or in the few
    that can reach it; trying the rest would only cost time.
    """
    if weave.layout.written < 3:
        return None
    labels: set[object] = set()
    for fault in faults:
        if fault.difference is not None:
            labels.add(fault.difference.block.label)
            labels |= {fault.difference.sibling.label} if fault.difference.even else set()
        elif fault.count is not None:
            unit = fault.count.unit
            labels |= set(range(unit, unit + weave.layout.reach + 1)) if unit else {None}
    steps = _steps_at_fault(faults)
    for block in weave.recipe.blocks:
        if block.kind == "unit" and block.label in labels:
            steps |= {s.number for s in block.steps}
    return steps


def _doubled(weave: Weave) -> int:
    """How many pairs of roles of the cycle meet the very same rings: connectors laid twice where
    one of them most likely belongs elsewhere."""
    if weave.repeat is None:
        return 0
    roles: dict[frozenset[object], set[str]] = {}
    for ring, met in weave.repeat.neighbours.items():
        # Seen from the nearest neighbour, so that the unit a ring is placed in plays no part.
        for base, (rows, units) in met:
            seen = frozenset((o, (r - rows, u - units)) for o, (r, u) in met)
            roles.setdefault(frozenset((base, seen)), set()).add(ring.role)
    return sum(len(same) - 1 for same in roles.values())


def _cost(weave: Weave) -> int:
    """What one trial costs: rings and items of its steps at every place of window and cycle."""
    recipe, layout = weave.recipe, weave.layout
    window = layout.window()
    places = 2 * window.rows * window.units
    total = len(recipe.rings) + len(recipe.parts) + len(recipe.meets)
    for block, _, work in moves(recipe):
        once = isinstance(block.label, int) or block.kind in ("start", "finish")
        total += work if once else places * work
    return total


def _left(mended: Weave, before: int, keys: set[tuple[object, ...]]) -> list[Fault] | None:
    """The faults after an edit; None, and no more than that is worked out, where it makes a new
    one or leaves as much as there was."""
    left, weight = [], 0
    for fault in each_fault(mended):
        weight += fault.weight
        if weight >= before or fault.key not in keys:
            return None
        left.append(fault)
    return left


def _best(
    weave: Weave, faults: list[Fault], purse: list[int]
) -> tuple[list[Edit], list[Fault]] | None:
    """The nearest edits that leave the least, with the faults left after the first of them.

    purse: the work that may still be spent; what this search costs is taken out of it. Edits are
    tried nearest first, so the first that leaves nothing ends the search.
    """
    cost = _cost(weave)
    before, keys, doubled = _weight(faults), {f.key for f in faults}, _doubled(weave)
    at_fault, suspects = _steps_at_fault(faults), _suspects(weave, faults)

    def near(edit: Edit) -> tuple[int, tuple[int, ...]]:
        own = edit.step.number in at_fault or (
            edit.other is not None and edit.other.number in at_fault
        )
        return (0 if own else 1, edit.rank)

    partial: tuple[int, list[Edit], list[Fault]] | None = None
    for group in _trials(weave):
        best: tuple[int, tuple[int, tuple[int, ...]]] | None = None
        ties: list[Edit] = []
        kept: list[Fault] = []
        edits = [
            e
            for e in islice(group, max(0, purse[0]) // 10)
            if suspects is None or e.step.number in suspects
        ]
        purse[0] -= 3 * len(edits)
        for place, edit in sorted(((near(e), e) for e in edits), key=itemgetter(0)):
            if purse[0] < 0 or (best and best[0] == 0 and place > best[1]):
                break
            mended = Weave(apply(weave.recipe, edit), weave.variant)
            left = _left(mended, before, keys)
            purse[0] -= cost
            if left is None:
                continue
            weight = _weight(left)
            strained = max(0, _doubled(mended) - doubled) if edit.kind == "add" else 0
            score = (100 * weight + strained, place)
            if best is None or score < best:
                best, ties, kept = score, [edit], left
            elif score == best:
                ties.append(edit)
        if best and not _weight(kept):
            return ties, kept
        if best and (partial is None or best[0] < partial[0]):
            partial = (best[0], ties, kept)
    return (partial[1], partial[2]) if partial else None


_VOICES = ("snag", "picks", "sibling", "loose", "size", "count", "owed", "pieces", "unused")


def _speaker(edit: Edit, cleared: list[Fault]) -> tuple[object, ...]:
    """Which of the faults tells of the cause: one at its own step, the most exact first."""
    at_step = [f for f in cleared if f.step and f.step.number == edit.step.number]
    pool = (
        [f for f in at_step if f.kind in ("snag", "picks", "sibling", "loose")]
        or [f for f in cleared if f.kind not in ("loose", "pieces")]
        or cleared
    )
    return min(pool, key=lambda f: _VOICES.index(f.kind)).key


def diagnose(weave: Weave, faults: list[Fault]) -> Diagnosis:
    """Find the causes that explain the faults of a recipe."""
    forgotten = forgotten_steps(weave, faults)
    if forgotten:
        return Diagnosis(tuple(forgotten), ())
    causes: list[Cause] = []
    left, current, purse = faults, weave, [MOST_WORK]
    while _weight(left) and len(causes) < MOST_CAUSES:
        found = _best(current, left, purse)
        if found is None:
            break
        edits, after = found
        still = {f.key: f.weight for f in after}
        cleared = [f for f in left if f.key not in still]
        if not cleared:
            break
        causes.append(
            Cause(
                edits[0],
                tuple(edits[1:]),
                frozenset(f.key for f in cleared),
                _speaker(edits[0], cleared),
                not _weight(after),
            )
        )
        current, left = Weave(apply(current.recipe, edits[0]), weave.variant), after
    return Diagnosis(tuple(faults), tuple(causes))
