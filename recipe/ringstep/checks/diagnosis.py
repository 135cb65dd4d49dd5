"""What explains the faults of a recipe: the types, and which fault is told.

Kept apart from the search (`blame.py`), which a clean recipe never needs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from ringstep.checks.faults import (
    FallsApart,
    Fault,
    Key,
    LooseRings,
    Miscounted,
    MissedLink,
    NeverUsed,
    OffPromise,
    Snagged,
    UnitOff,
    Unlike,
)

if TYPE_CHECKING:
    from ringstep.checks.edits import Edit

F = TypeVar("F", bound=Fault)
#: What may follow from a step that could not be carried out at all, and from a wrong list.
_FOLLOWS = (OffPromise, MissedLink, FallsApart, Unlike, LooseRings)


@dataclass(frozen=True)
class Cause:
    """The likely cause of some faults.

    edit: the change that mends them; rivals: others that would do as well and are as near.
    whole: True where nothing is left after it.
    cleared: the keys of the faults that it explains. speaker: the fault that tells of it.
    """

    edit: Edit
    rivals: tuple[Edit, ...]
    cleared: frozenset[Key]
    speaker: Key
    whole: bool


@dataclass(frozen=True)
class Diagnosis:
    """The faults of a recipe and what explains them, in the order of the text.

    searched: True where every single change was tried.
    """

    faults: tuple[Fault, ...]
    causes: tuple[Cause, ...]
    searched: bool = False

    def voiced(self, kind: type[F]) -> Iterator[tuple[F, Cause | None]]:
        """The faults of a kind that are to be told: causes once, not their consequences."""
        first = [f.key for f in self.faults if isinstance(f, Snagged) and f.weight]
        counts = [f.key for f in self.faults if isinstance(f, Miscounted)]
        for fault in self.faults:
            if not isinstance(fault, kind):
                continue
            cause = self.cause_of(fault)
            if cause is not None and cause.speaker != fault.key:
                continue
            drowning = first if cause else [*first, *counts]
            if isinstance(fault, _FOLLOWS) and _drowned(cause, drowning):
                continue
            yield fault, cause

    @property
    def snagged(self) -> bool:
        """True where some step cannot be carried out."""
        return any(isinstance(f, Snagged) for f in self.faults)

    @property
    def blamed(self) -> frozenset[int]:
        """The numbers of the steps in which a cause lies."""
        return frozenset(n for c in self.causes for n in c.edit.touched)

    @property
    def misspelt(self) -> list[str]:
        """Names that a step places misspelt."""
        if not self.causes:
            return []  # and a recipe without faults needs none of the classes of changes
        from ringstep.checks.edits import RenamePlaced

        return [c.edit.name.role for c in self.causes if isinstance(c.edit, RenamePlaced)]

    @property
    def whole_rows(self) -> bool:
        """True where a step of a row most likely places, at each place, the rings of all of it."""
        if not self.causes:
            return False
        from ringstep.checks.edits import ChangeCount

        return any(isinstance(c.edit, ChangeCount) and c.edit.count == 1 for c in self.causes)

    def cause_of(self, fault: Fault) -> Cause | None:
        """What explains a fault."""
        return next((c for c in self.causes if fault.key in c.cleared), None)


class NotAsked(Exception):
    """What explains the faults was not asked for, and a check wants to know."""


@dataclass(frozen=True)
class Unexplained(Diagnosis):
    """The faults of a recipe before anything was asked about what explains them."""

    def __getattribute__(self, name: str) -> Any:
        """Raises `NotAsked` where there are faults and their causes are asked for."""
        if name in ("causes", "searched") and self.faults:
            raise NotAsked
        return super().__getattribute__(name)


def _drowned(cause: Cause | None, first: list[Key]) -> bool:
    """True for what may follow from a step that could not be carried out at all.

    Where a name leads nowhere the links of its step are missing too, and where a count is not
    come to, a ring may be; counts of neighbours mean something only once that is mended, or where
    one cause explains both. first: the keys of all such steps.
    """
    explained = cause.cleared if cause else frozenset()
    return any(key not in explained for key in first)


#: Which of the faults that one cause explains tells of it, the most exact first.
_VOICES = (
    Snagged, Miscounted, Unlike, LooseRings, UnitOff, OffPromise, MissedLink, FallsApart, NeverUsed,
)  # fmt: skip


def speaker(edit: Edit, cleared: list[Fault]) -> Key:
    """The fault that tells of a cause: one at its own step, if there is one."""
    at_step = [f for f in cleared if f.step and f.step.number in edit.touched]
    exact = (Snagged, Miscounted, Unlike, LooseRings, MissedLink)
    pool: list[Fault] = [f for f in at_step if isinstance(f, exact)]
    # A name that is placed by no step speaks before what follows from that.
    pool = [f for f in cleared if isinstance(f, Snagged) and f.snag.kind == "unknown"] or pool
    pool = pool or [f for f in cleared if not isinstance(f, LooseRings | FallsApart)] or cleared
    return min(pool, key=lambda f: _VOICES.index(type(f)) if type(f) in _VOICES else 0).key
