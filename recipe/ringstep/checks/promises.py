"""Promises that what was measured does not keep, as they would have to read.

Comes in: a recipe carried out, and its faults. Goes out: a change for each line of 'expect:' that
some ring does not keep, where all rings of its name, or all of each number, measure alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ringstep.checks.edits import ChangePromise, Edit
from ringstep.checks.faults import Fault, OffPromise
from ringstep.language.promised import Meets, Wanted
from ringstep.language.syntax import Name
from ringstep.weave.piece import Weave, is_for_all
from ringstep.weave.promises import measured


def promise_edits(weave: Weave, faults: list[Fault]) -> Iterator[Edit]:
    """See the module."""
    told: set[int] = set()
    at_ends = {r for b in weave.recipe.blocks if b.kind == "row end" for r in b.placed}
    at_ends -= {r for b in weave.recipe.blocks if b.kind != "row end" for r in b.placed}
    hung_by_row_ends = {
        o.role for r, others in weave.work.links.items() if r.role in at_ends for o in others
    }
    for fault in faults:
        if not isinstance(fault, OffPromise) or id(fault.count.promise) in told:
            continue
        promise = fault.count.promise
        told.add(id(promise))
        if promise.name.index is None and not is_for_all(promise):
            names = [(promise.name.role, i) for i in weave.names.get(promise.name.role, (1,))]
        else:
            names = [(fault.count.role, fault.count.index)]
        met: dict[tuple[str, int], list[Wanted]] = {}
        for ring in weave.finished:
            name = (ring.role, ring.index)
            if name in names and weave.promise(*name) is promise:
                have = met.setdefault(name, [])
                if (one := measured(weave, ring, promise)) not in have:
                    have.append(one)
        if not met or is_for_all(promise) or any(len(mets) > 1 for mets in met.values()):
            continue
        if _too_few(weave, promise):
            continue  # the step that places another is forgotten rather
        if hung_by_row_ends & {role for role, _ in names}:
            continue  # the step of the row that places what only row ends place may be forgotten
        found = {name: met[name][0] for name in names if name in met}
        first = next(iter(found.values()))
        if all(one == first for one in found.values()):
            yield _changed(promise, {promise.name: first})
        elif promise.name.index is None:
            span = promise.name.span
            yield _changed(promise, {Name(r, i, span): one for (r, i), one in found.items()})


def _too_few(weave: Weave, promise: Meets) -> bool:
    """Are more rings of its own name promised to a ring than there are others in the piece?"""
    role = promise.name.role
    placed = sum(ring.role == role for ring in weave.work.placed_by)
    return (promise.plain or {}).get(role, 0) >= placed


def _changed(promise: Meets, found: dict[Name, Wanted]) -> ChangePromise:
    kept = promise.choices if len(promise.choices) > 1 else ()
    new = tuple(replace(promise, name=name, choices=(*kept, one)) for name, one in found.items())
    lines = tuple(f"{m.name} meets {' or '.join(map(str, m.choices))}" for m in new)
    return ChangePromise(promise, new, lines, rank=(1,))
