"""From a wrong count at a ring to the step that most likely caused it.

Comes in: a recipe's faults. Goes out: `Cause`s, each a single edit that makes the faults it
explains go away. A wrong count is found at a ring, but the fault lies in a step. What the faults
point to is tried first (`suspects.py`, `told.py`), every small change only where that finds
nothing; each is judged by what it leaves: the code that finds faults decides, and every other check
has its say.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from itertools import chain
from operator import itemgetter

from ringstep.checks.changes import list_edits, replace_edits, step_edits
from ringstep.checks.diagnosis import Cause, Diagnosis, speaker
from ringstep.checks.edits import (
    AddRing,
    ChangeCount,
    ChangePromise,
    DropStep,
    Edit,
    RemoveRing,
    ReplaceRing,
)
from ringstep.checks.faults import (
    STATED,
    Fault,
    Key,
    OffPromise,
    Snagged,
    UnitOff,
    Unlike,
    each_fault,
)
from ringstep.checks.forgotten import forgotten_steps
from ringstep.checks.join_edits import join_edits
from ringstep.checks.promises import promise_edits
from ringstep.checks.told import Told
from ringstep.checks.trial import Trial
from ringstep.language.syntax import Ref
from ringstep.weave.piece import Weave
from ringstep.weave.places import places_seen
from ringstep.weave.work import Act, role_indexes

#: Blame is for people waiting at a screen; past so many acts carried out in trials it says what it
#: measured instead. Counted, not timed, so that the same recipe always says the same.
MOST_WORK = 12_000
#: More independent slips than this in one recipe are mended one after the other.
MOST_CAUSES = 4


def _weight(faults: Iterable[Fault]) -> int:
    return sum(f.weight for f in faults)


def _groups(weave: Weave, faults: list[Fault]) -> Iterator[tuple[bool, Iterator[Edit]]]:
    """Changes to try, the likelier first; with whether the group holds every change of a kind."""
    if weave.recipe.made:
        yield False, join_edits(weave)
        yield False, promise_edits(weave, faults)
        yield True, step_edits(weave.recipe)
        return
    suspects = Told.of(weave)
    yield False, chain(suspects.told(), suspects.missing_links(), suspects.extra_links())
    if any(isinstance(f, UnitOff) and f.found < f.promise.count for f in faults):
        return  # no change of a list places a ring more
    yield False, promise_edits(weave, faults)
    yield True, list_edits(weave.recipe)
    yield True, step_edits(weave.recipe)
    yield True, replace_edits(weave.recipe)


def _steps_at_fault(faults: list[Fault]) -> set[int]:
    """Steps that are themselves at fault, and the like steps of a sibling that may be instead."""
    at = {f.step.number for f in faults if f.step}
    return at | {
        f.difference.twin.number
        for f in faults
        if isinstance(f, Unlike) and f.difference.twin and f.difference.even
    }


def _suspected(weave: Weave, faults: list[Fault]) -> set[int] | None:
    """The steps worth trying; None where that is all of them.

    In a recipe written out unit after unit, what is wrong in a unit was done in it or in the few
    that can reach it; trying the rest would only cost time.
    """
    if weave.layout.written < 3:
        return None
    labels: set[object] = set()
    for fault in faults:
        if isinstance(fault, Unlike):
            labels.add(fault.difference.block.label)
            labels |= {fault.difference.sibling.label} if fault.difference.even else set()
        elif isinstance(fault, OffPromise):
            unit = fault.count.unit
            labels |= set(range(unit, unit + weave.layout.reach + 1)) if unit else {None}
    steps = _steps_at_fault(faults)
    for block in weave.recipe.blocks:
        if block.kind == "unit" and block.label in labels:
            steps |= {s.number for s in block.steps}
    return steps


#: How near a change lies: in a step at fault or elsewhere, then its rank.
_Place = tuple[int, tuple[int, ...]]


def doubled(weave: Weave) -> int:
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


@dataclass
class _Search:
    """One search for the nearest change that leaves the least.

    purse: the work that may still be spent. searched: True once every change was tried.
    """

    weave: Weave
    faults: list[Fault]
    purse: list[int]
    searched: bool = False
    best: tuple[tuple[int, int, _Place], list[Trial]] | None = None
    tried: set[object] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.before = _weight(self.faults)
        self.keys = {f.key for f in self.faults}
        self.at_fault = _steps_at_fault(self.faults)
        work = self.weave.work
        self.cost = 10 + len(work.acts) + sum(map(len, work.links.values())) // 4
        if self.weave.recipe.made:  # the pieces are not carried out again, but all is counted
            links = sum(map(len, work.links.values()))
            self.cost = 10 + 2 * sum(act.row < 0 for act in work.acts) + links // 12
        self.unmade = {
            f.step.number
            for f in self.faults
            if isinstance(f, Snagged) and f.snag.kind not in ("placed twice", "linked twice")
        }
        self.doubled = doubled(self.weave)
        self.bare = Trial.bare_errors(self.weave)

    def near(self, edit: Edit) -> _Place:
        """How near a change lies."""
        own = bool(self.at_fault.intersection(edit.touched))
        # Rings placed one too few are missing from the very list that is at fault.
        own = own or (isinstance(edit, ChangeCount) and not edit.step.one_another)
        kind, near, *rest = (*edit.rank, 0)
        if self.weave.layout.rounds:
            # no ring above is the surer for being nearest where places come and go
            kind, near, rest = min(kind, 1), 0, []
        # A stated count speaks for its list, so a list is doubted first where none is stated.
        return (0 if own else 1, (kind, near, recounts(edit), *rest))

    def run(self) -> list[Trial]:
        """The nearest changes that leave the least, equals together; none where none helps."""
        suspected = _suspected(self.weave, self.faults)
        promised: list[Trial] = []
        for whole, group in _groups(self.weave, self.faults):
            edits = []
            for edit in group:
                self.purse[0] -= whole
                if self.purse[0] < 0:
                    break
                if not whole or suspected is None or suspected.intersection(edit.touched):
                    edits.append(edit)
            # What faults point to is as likely one as the other, whatever its rank.
            self._try(edits, 99 if whole else 2)
            if self.best and self.best[0][0] == 0:
                if promised or not isinstance(self.best[1][0].edit, ChangePromise):
                    break
                # What a promise explains a list may explain as well: then neither is the surer.
                promised, self.best = self.best[1], None
        else:
            self.searched = self.purse[0] >= 0
        whole_mend = self.best is not None and self.best[0][0] == 0
        found = promised + (self.best[1] if self.best and (whole_mend or not promised) else [])
        return [self._shorter(t) for t in found]

    def _shorter(self, trial: Trial) -> Trial:
        """The same change without 'if there', where the place is never off the piece."""
        edit = trial.edit
        if not isinstance(edit, AddRing | ReplaceRing) or not edit.new.if_there:
            return trial
        if isinstance(edit, ReplaceRing) and edit.ref.if_there:
            return trial
        short = self.attempt(replace(edit, new=replace(edit.new, if_there=False)))
        return short if short and short.alike(trial) and short.left == trial.left else trial

    def _try(self, edits: list[Edit], rivalry: int) -> None:
        """Try some changes; those whose rank begins alike, so many figures of it, are rivals."""
        edits = [recounted(self.weave, e) for e in edits]
        for place, edit in sorted(((self.near(e), e) for e in edits), key=itemgetter(0)):
            near = (place[0], place[1][:rivalry])
            if self.best and self.best[0][:2] == (0, 0) and near > self.best[0][2]:
                best = self.best[1][0].edit
                if near[1][0] != self.best[0][2][1][0]:
                    return
                if best.touched == edit.touched:
                    continue
                # Of changes of two lists neither is the surer, however near its ring lies.
                near = self.best[0][2]
            if self.purse[0] < 0:
                return
            trial = self.attempt(edit)
            if trial is None:
                continue
            strained = max(0, doubled(trial.mended) - self.doubled)
            score = (_weight(trial.left), strained, near)
            if self.best is None or score < self.best[0]:
                self.best = (score, [trial])
            elif score == self.best[0] and not any(t.alike(trial) for t in self.best[1]):
                self.best[1].append(trial)

    def attempt(self, edit: Edit) -> Trial | None:
        """A change carried out; None where it does not help, or was tried before."""
        if isinstance(edit, DropStep) and edit.step.number in self.unmade:
            return None  # what a step does wrong is gone with it, and so is what it is there for
        mark = (type(edit), edit.touched, edit.typed(self.weave.recipe))
        if mark in self.tried:
            return None
        self.tried.add(mark)
        self.purse[0] -= self.cost
        mended = self.weave.changed(edit.apply(self.weave.recipe))
        if _nowhere(mended, edit):
            return None
        left: list[Fault] = []
        weight = 0
        for fault in each_fault(mended):
            weight += fault.weight
            if weight >= self.before or fault.key not in self.keys:
                return None
            left.append(fault)
        if isinstance(edit, ChangePromise) and weight:
            return None  # a promise is given up only where that explains everything
        trial = Trial(edit, mended, tuple(left))
        return None if trial.errors() - self.bare else trial


def _nowhere(weave: Weave, edit: Edit) -> bool:
    """True for a ring that a change names and that is off the piece wherever its step is worked."""
    if not isinstance(edit, AddRing | ReplaceRing) or not edit.new.if_there:
        return False
    acts = [a for a in weave.work.acts if a.step.number == edit.step.number]
    names = str(edit.new)
    return bool(acts) and all(any(str(r) == names for r in a.dropped) for a in acts)


def recounts(edit: Edit) -> bool:
    """True for a change of a list that goes against the count stated with it."""
    if not isinstance(edit, AddRing | RemoveRing | ReplaceRing):
        return False
    return edit.picks is not None and edit.step.picks is not None


def recounted(weave: Weave, edit: Edit) -> Edit:
    """A change of a list with the count that goes with it.

    People count what they wrote: where list and count agreed before, the count changes along.
    """
    if not isinstance(edit, AddRing | RemoveRing | ReplaceRing):
        return edit
    number, picks = edit.step.number, edit.step.picks
    if picks is None and not _counts_itself(weave, number):
        return edit
    acts = [
        a for a in weave.work.acts if a.step.number == number and not a.dropped and not a.skipped
    ]
    if not acts:
        return edit
    nowhere = {s.ref.span for s in weave.snags if s.ref and s.step.number == number}
    came = {
        id(ref): (_size_of if ref.span in nowhere else _named)(weave, acts[-1], ref)
        for ref in edit.step.through
    }
    if picks is not None and sum(came.values()) != picks.number:
        # What leads nowhere may not have been counted.
        came |= {id(ref): 0 for ref in edit.step.through if ref.span in nowhere}
    size = sum(came.values())
    if picks is not None and size != picks.number:
        return edit
    gone = came[id(edit.ref)] if isinstance(edit, RemoveRing | ReplaceRing) else 0
    come = _size_of(weave, acts[-1], edit.new) if isinstance(edit, AddRing | ReplaceRing) else 0
    if come == gone or (picks is None and size + come - gone < 2):
        return edit
    return replace(edit, picks=size + come - gone)


def _counts_itself(weave: Weave, step: int) -> bool:
    """True at the ends of the piece, where a list of several rings states how many they are."""
    stated = (b for b in weave.recipe.blocks if b.kind in STATED)
    return any(s.number == step for b in stated for s in b.steps)


def _named(weave: Weave, act: Act, ref: Ref) -> int:
    """How many rings an item of a list came to."""
    if ref.every:
        return sum(n for r, n in act.every.items() if r.role == ref.name.role)
    if ref.one_another:
        return len(act.named_by(ref, weave.work.layout))
    at = places_seen(weave.work.layout, ref, act.block, act.row, act.unit)
    return sum(
        (r.row, r.unit) in at and r.role == ref.name.role and ref.name.index in (None, r.index)
        for r in act.through
    ) or sum(r.role == ref.name.role for r in act.through if r.role in weave.recipe.part_roles)


def _size_of(weave: Weave, act: Act, ref: Ref) -> int:
    if ref.every:  # of the piece; of a row the mend that is tried comes to another count
        placed = weave.counts.placed().items()
        return sum(n for name, n in placed if name[0] == ref.name.role)
    if weave.layout.rounds and "above" in ref.places:
        at = places_seen(weave.work.layout, ref, act.block, act.row, act.unit)
        each = (weave.work.layout.blocks_at(*place) for place in at)
        have = [role_indexes(blocks).get(ref.name.role, ()) for blocks in each]
        return sum(len(i) if ref.name.index is None else ref.name.index in i for i in have)
    if ref.name.index is not None:
        return 1
    strands = weave.layout.strands
    if strands and ref.strand in strands.placed:
        return sum(role == ref.name.role for role, _ in strands.placed[ref.strand])
    return len(weave.names.get(ref.name.role, (1,)))


def _misspelt(weave: Weave, faults: list[Fault], purse: list[int]) -> list[Trial]:
    """A name misspelt where it is placed, which everything that names it stumbles over."""
    search = _Search(weave, faults, purse)
    found = [t for e in Told(weave, tuple(faults)).renamed() if (t := search.attempt(e))]
    gone = [t for t in found if not any(isinstance(f, Snagged) for f in t.left)]
    return gone if len(gone) == 1 else []


def diagnose(weave: Weave, faults: list[Fault]) -> Diagnosis:
    """Find the causes that explain the faults of a recipe."""
    causes: list[Cause] = []
    left, current, purse, searched = faults, weave, [MOST_WORK], False
    found = _misspelt(weave, faults, purse)
    if not found and not weave.recipe.made and (forgotten := forgotten_steps(weave, faults)):
        return Diagnosis(tuple(forgotten), ())
    while _weight(left) and len(causes) < MOST_CAUSES:
        if not found:
            search = _Search(current, left, purse)
            found = search.run()
            searched = search.searched
        if not found:
            break
        still: set[Key] = {f.key for f in found[0].left}
        cleared = [f for f in left if f.key not in still]
        if not cleared:
            break
        causes.append(
            Cause(
                found[0].edit,
                # What clears other faults is no rival, but another cause.
                tuple(t.edit for t in found[1:] if {f.key for f in t.left} == still),
                frozenset(f.key for f in cleared),
                speaker(found[0].edit, cleared),
                not _weight(found[0].left),
            )
        )
        current, left, found = found[0].mended, list(found[0].left), []
    if _weight(left):
        causes = []  # a mend that leaves something wrong was not tried to the end
    return Diagnosis(tuple(faults), tuple(causes), searched)
