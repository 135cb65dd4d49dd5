"""What explains the faults of a recipe: the types, and which fault is told.

Kept apart from the search (`blame.py`), which a clean recipe never needs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ringstep.checks.edits import Edit
    from ringstep.checks.faults import Fault


@dataclass(frozen=True)
class Cause:
    """The likely cause of some faults.

    edit: the change that mends them; rivals: others that would do as well and are as near.
    whole: True where nothing is left after it.
    cleared: the keys of the faults that it explains. speaker: the fault that tells of it.
    """

    edit: Edit
    rivals: tuple[Edit, ...]
    cleared: frozenset[tuple[object, ...]]
    speaker: tuple[object, ...]
    whole: bool


@dataclass(frozen=True)
class Diagnosis:
    """The faults of a recipe and what explains them, in the order of the text."""

    faults: tuple[Fault, ...]
    causes: tuple[Cause, ...]

    def voiced(self, *kinds: str) -> Iterator[tuple[Fault, Cause | None]]:
        """The faults of some kinds that are to be told: causes once, not their consequences."""
        snags = [f.key for f in self.faults if f.kind == "snag" and f.weight]
        for fault in self.faults:
            if fault.kind not in kinds:
                continue
            cause = next((c for c in self.causes if fault.key in c.cleared), None)
            if (cause is None or cause.speaker == fault.key) and not _drowned(fault, cause, snags):
                yield fault, cause


def _drowned(fault: Fault, cause: Cause | None, snags: list[tuple[object, ...]]) -> bool:
    """True for what may follow from a step that could not be carried out at all.

    Where a name leads nowhere the links of its step are missing too; counts mean something only
    once that is mended, or where one cause explains both. snags: the keys of all such steps.
    """
    if fault.kind not in ("count", "owed", "pieces", "sibling", "loose"):
        return False
    explained = cause.cleared if cause else frozenset()
    return any(key not in explained for key in snags)
