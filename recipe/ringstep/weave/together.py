"""Which rings are known to lie together when a new ring goes through them.

Comes in: the acts of a piece. Goes out: the rings that one act goes through, in groups. Rings that
are linked, that are all of one role in one place, that were placed or folded in one act, or that
hang on the same rings lie together. What lies loose slides along the new ring by itself and is in
no group.
"""

from __future__ import annotations

from ringstep.weave.work import Ring, Work


def groups_of(work: Work, number: int) -> tuple[frozenset[Ring], ...]:
    """The rings that an act goes through, in groups known to lie together, first met first."""
    through = [ring for ring in work.acts[number].through if work.made_by(ring, number - 1)]
    folded = _folded_by(work, number) if len(through) > 1 else {}
    groups: list[list[Ring]] = []
    for ring in through:
        near = [g for g in groups if any(_together(work, number, folded, ring, o) for o in g)]
        groups = [g for g in groups if g not in near]
        groups.append([*(r for g in near for r in g), ring])
    first = {ring: at for at, ring in enumerate(through)}
    return tuple(frozenset(g) for g in sorted(groups, key=lambda g: min(first[r] for r in g)))


def _folded_by(work: Work, number: int) -> dict[Ring, int]:
    """The last act before this one that folded each ring."""
    return {
        ring: at
        for at, act in enumerate(work.acts[:number])
        if act.step.kind == "fold back"
        for ring in act.handled
    }


def _together(work: Work, number: int, folded: dict[Ring, int], one: Ring, other: Ring) -> bool:
    if (one.role, one.row, one.unit) == (other.role, other.row, other.unit):
        return True
    if work.links.get(one, {}).get(other, number) < number:
        return True
    if one in folded and folded[one] == folded.get(other):
        return True
    acts = [work.placed_by[ring] for ring in (one, other)]
    hangs = [frozenset(work.acts[at].through) for at in acts]
    return bool(hangs[0]) and hangs[0] == hangs[1]
