"""One link to another unit than was meant, told by the lays that are owed through it alone.

Comes in: a recipe whose promises are all kept and in which some steps owe a lay that is not stated.
Goes out: the changes of one other list after which nothing is owed that is not stated. A ring of
the unit before, named for one of this unit, keeps every count; what it crosses owes a lay then.
"""

from __future__ import annotations

from ringstep.checks.blame import recounted
from ringstep.checks.changes import candidate_refs, replacing
from ringstep.checks.edits import ReplaceRing
from ringstep.checks.faults import each_fault
from ringstep.language.syntax import OPENING
from ringstep.weave.piece import Weave

#: Changes that are carried out at most.
MOST_TRIED = 60


def unstated(weave: Weave) -> set[int]:
    """The numbers of the steps that owe a lay and state none."""
    return {a.step.number for a in weave.work.acts if a.owes_lay and a.step.lay is None}


def odd_links(weave: Weave) -> list[ReplaceRing]:
    """See the module."""
    owing = unstated(weave)
    found: list[ReplaceRing] = []
    tried = 0
    for block in weave.recipe.blocks if owing else ():
        near = [ref for ref, used in candidate_refs(weave.recipe, block) if used]
        for step in block.steps:
            if step.kind not in OPENING or step.number in owing:
                continue
            for ref in step.through:
                for new in near:
                    same = (new.name.role, new.name.index) == (ref.name.role, ref.name.index)
                    if not same or new.places == ref.places or tried >= MOST_TRIED:
                        continue
                    if any(
                        r.places == new.places and r.name.role == new.name.role
                        for r in step.through
                    ):
                        continue
                    tried += 1
                    edit = recounted(weave, replacing(step, ref, new, True))
                    assert isinstance(edit, ReplaceRing)
                    mended = Weave(edit.apply(weave.recipe), weave.variant)
                    if next(each_fault(mended), None) is None and not unstated(mended):
                        found.append(edit)
    return found
