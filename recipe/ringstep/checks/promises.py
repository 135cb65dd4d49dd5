"""Promises that what was measured does not keep, as they would have to read.

Comes in: a recipe carried out, and its faults. Goes out: a change for each line of 'expect:' that
some ring does not keep, where all rings of its name, or all of each number, measure alike.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

from ringstep.checks.edits import ChangePromise, Edit
from ringstep.checks.faults import Fault, OffPromise
from ringstep.language.syntax import Meets, Name
from ringstep.weave.phrases import promise_line
from ringstep.weave.piece import Weave, is_for_all


def promise_edits(weave: Weave, faults: list[Fault]) -> Iterator[Edit]:
    """See the module."""
    told: set[int] = set()
    for fault in faults:
        if not isinstance(fault, OffPromise) or id(fault.count.promise) in told:
            continue
        promise = fault.count.promise
        told.add(id(promise))
        if promise.name.index is None and not is_for_all(promise):
            names = [(promise.name.role, i) for i in weave.names.get(promise.name.role, (1,))]
        else:
            names = [(fault.count.role, fault.count.index)]
        met: dict[tuple[str, int], list[Counter[str]]] = {}
        for ring in weave.finished:
            name = (ring.role, ring.index)
            if name in names and weave.promise(*name) is promise:
                have = met.setdefault(name, [])
                if (one := weave.met(ring)) not in have:
                    have.append(one)
        if not met or is_for_all(promise) or any(len(mets) > 1 for mets in met.values()):
            continue
        found = {name: mets[0] for name, mets in met.items()}
        first = next(iter(found.values()))
        if all(_alike(promise, one, first) for one in found.values()):
            yield _changed(promise, {promise.name: first})
        elif promise.name.index is None:
            span = promise.name.span
            yield _changed(promise, {Name(r, i, span): one for (r, i), one in found.items()})


def _alike(promise: Meets, one: Counter[str], other: Counter[str]) -> bool:
    return one.total() == other.total() if promise.by_role is None else one == other


def _changed(promise: Meets, found: dict[Name, Counter[str]]) -> ChangePromise:
    new, lines = [], []
    for name, met in found.items():
        order = [r for r, _ in promise.by_role or () if met[r]]
        ordered = {r: met[r] for r in (*order, *(r for r in met if r not in order)) if met[r]}
        # A ring that meets rings of one role alone may keep the shorter way of saying so.
        by_role = tuple(ordered.items()) if promise.by_role is not None else None
        new.append(replace(promise, name=name, total=met.total(), by_role=by_role))
        lines.append(promise_line(str(name), ordered, by_role=by_role is not None))
    return ChangePromise(promise, tuple(new), tuple(lines), rank=(1,))
