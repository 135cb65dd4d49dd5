"""One link that was not meant, told by the lays that are owed through it alone.

Comes in: a recipe whose promises are all kept and in which some steps owe a lay that is not stated.
Goes out: the changes of one list after which nothing is owed that is not stated. A ring of the unit
before, named for one of this unit, keeps every count; what it crosses owes a lay then. A list that
owes a lay itself may have a ring too many, of which no promise speaks.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from ringstep.checks.blame import recounted
from ringstep.checks.changes import candidate_refs, replacing
from ringstep.checks.edits import RemoveRing, ReplaceRing
from ringstep.checks.faults import each_fault
from ringstep.language.syntax import OPENING, Ref, Step
from ringstep.weave.piece import Weave

#: Changes that are carried out at most.
MOST_TRIED = 60


def unstated(weave: Weave) -> set[int]:
    """The numbers of the steps that owe a lay and state none."""
    return {a.step.number for a in weave.work.acts if a.owes_lay and a.step.lay is None}


def odd_links(weave: Weave) -> list[ReplaceRing | RemoveRing]:
    """See the module."""
    owing = unstated(weave)
    found: list[ReplaceRing | RemoveRing] = []
    for change in islice(_changes(weave, owing) if owing else (), MOST_TRIED):
        edit = recounted(weave, change)
        assert isinstance(edit, ReplaceRing | RemoveRing)
        mended = weave.changed(edit.apply(weave.recipe))
        if next(each_fault(mended), None) is None and not unstated(mended):
            found.append(edit)
    return found


def _changes(weave: Weave, owing: set[int]) -> Iterator[ReplaceRing | RemoveRing]:
    """Other places for what the lists name, and what a list that owes a lay could leave out."""
    steps = [(b, s) for b in weave.recipe.blocks for s in b.steps if s.kind in OPENING]
    for block, step in sorted(steps, key=lambda s: s[1].number in owing):
        own = step.number in owing
        if own and not any(i.name.role in weave.promised for i in step.new):
            continue
        near = [ref for ref, used in candidate_refs(weave.recipe, block) if used]
        for ref in step.through:
            if own and len(step.through) > 1:
                yield RemoveRing(step, ref, rank=(1, 0))
            for new in near:
                same = (new.name.role, new.name.index) == (ref.name.role, ref.name.index)
                if same and new.places != ref.places and not _named(step, new):
                    yield replacing(step, ref, new, True)


def _named(step: Step, ref: Ref) -> bool:
    return any(r.places == ref.places and r.name.role == ref.name.role for r in step.through)
