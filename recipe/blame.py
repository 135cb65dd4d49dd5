"""From a wrong count at a ring to the step that most likely caused it.

Comes in: a recipe's faults. Goes out: `Cause`s, each a single edit that makes the faults it
explains go away. A wrong count is found at a ring, but the fault lies in a step; so every small
edit is tried on the recipe itself and judged by what it leaves: the code that finds faults decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from recipe.edits import Edit, apply, list_edits, replace_edits, step_edits
from recipe.faults import Fault, Model, find_faults

#: Blame is for people waiting at a screen; past this many trials it says what it measured instead.
MOST_TRIALS = 4000
#: More independent slips than this in one recipe are mended one after the other.
MOST_CAUSES = 4


@dataclass(frozen=True, slots=True)
class Cause:
    """The likely cause of some faults.

    edit: the change that mends them; rivals: others that would do as well and are as near.
    cleared: the keys of the faults that it explains. speaker: the fault that tells of it.
    """

    edit: Edit
    rivals: tuple[Edit, ...]
    cleared: frozenset[tuple[object, ...]]
    speaker: tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """The faults of a recipe and what explains them, in the order of the text."""

    faults: tuple[Fault, ...]
    causes: tuple[Cause, ...]

    def voiced(self, *kinds: str) -> Iterator[tuple[Fault, Cause | None]]:
        """The faults of some kinds that are to be told: causes once, not their consequences."""
        for fault in self.faults:
            if fault.kind not in kinds:
                continue
            cause = next((c for c in self.causes if fault.key in c.cleared), None)
            if cause is None:
                if not self._drowned(fault):
                    yield fault, None
            elif cause.speaker == fault.key:
                yield fault, cause

    def _drowned(self, fault: Fault) -> bool:
        """True for what follows from a step that could not be carried out at all."""
        if fault.kind in ("count", "pieces", "strands", "sibling", "loose"):
            return any(f.kind == "snag" for f in self.faults)
        return False


def _weight(faults: Iterable[Fault]) -> int:
    return sum(f.weight for f in faults)


def _trials(model: Model) -> Iterator[Iterator[Edit]]:
    yield list_edits(model.recipe)
    yield step_edits(model.recipe)
    yield replace_edits(model.recipe)


def _near(edit: Edit, faults: list[Fault]) -> int:
    """0 where the edit is in a step that is itself at fault, else 1."""
    at = {f.step.number for f in faults if f.step}
    at |= {
        f.difference.twin.number
        for f in faults
        if f.difference and f.difference.twin and f.difference.even
    }
    return 0 if edit.step.number in at or (edit.other and edit.other.number in at) else 1


def _best(model: Model, faults: list[Fault]) -> tuple[list[Edit], list[Fault]] | None:
    """The nearest edits that leave the least, with the faults left after the first of them."""
    before = _weight(faults)
    keys = {f.key for f in faults}
    trials = 0
    partial: tuple[int, list[Edit], list[Fault]] | None = None
    for group in _trials(model):
        scored: list[tuple[int, int, tuple[int, ...], Edit, list[Fault]]] = []
        for edit in group:
            trials += 1
            if trials > MOST_TRIALS:
                break
            left = find_faults(Model(apply(model.recipe, edit), model.variant))
            weight = _weight(left)
            if weight < before and all(f.key in keys for f in left):
                scored.append((weight, _near(edit, faults), edit.rank, edit, left))
        if scored:
            scored.sort(key=lambda s: s[:3])
            best = scored[0]
            ties = [s[3] for s in scored if s[:3] == best[:3]]
            if best[0] == 0:
                return ties, best[4]
            if partial is None or best[0] < partial[0]:
                partial = (best[0], ties, best[4])
    return (partial[1], partial[2]) if partial else None


_VOICES = ("snag", "picks", "sibling", "loose", "size", "count", "pieces", "strands")


def _speaker(edit: Edit, cleared: list[Fault]) -> tuple[object, ...]:
    """Which of the faults tells of the cause: one at its own step, the most exact first."""
    at_step = [f for f in cleared if f.step and f.step.number == edit.step.number]
    pool = (
        [f for f in at_step if f.kind in ("snag", "picks", "sibling", "loose")]
        or [f for f in cleared if f.kind not in ("loose", "pieces")]
        or cleared
    )
    return min(pool, key=lambda f: _VOICES.index(f.kind)).key


def diagnose(model: Model) -> Diagnosis:
    """Find the faults of a recipe and the causes that explain them."""
    faults = find_faults(model)
    causes: list[Cause] = []
    left, current = faults, model
    while left and len(causes) < MOST_CAUSES:
        found = _best(current, left)
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
            )
        )
        current, left = Model(apply(current.recipe, edits[0]), model.variant), after
    return Diagnosis(tuple(faults), tuple(causes))
