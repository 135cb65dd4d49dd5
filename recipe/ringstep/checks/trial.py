"""A change carried out, and what the checks say of the recipe after it.

Comes in: an edit and the recipe it makes. Goes out: whether it may be offered. A mend that is not
right is worse than none, so nothing is offered that brings an error the recipe did not have,
or leaves a promise without a ring.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from ringstep.checks.diagnosis import Diagnosis
from ringstep.checks.edits import Edit
from ringstep.checks.faults import Fault
from ringstep.weave.piece import Weave
from ringstep.weave.work import Ring

Error = tuple[str, int]


@dataclass(frozen=True)
class Trial:
    """An edit, the weave it makes, and the faults that it leaves."""

    edit: Edit
    mended: Weave
    left: tuple[Fault, ...]

    @staticmethod
    def bare_errors(weave: Weave) -> frozenset[Error]:
        """What the checks that do not speak of links say that a mend may not bring, by rule and
        line: errors, and promises that no ring is held to any more."""
        from ringstep.checks.rules import other_checks
        from ringstep.checks.view import View

        view = View(weave.recipe, ())
        known = {"weave": weave, "chosen": weave.variant, "diagnosis": Diagnosis((), ())}
        view.__dict__.update(known, on_trial=True)
        return frozenset(
            (f.rule.name, f.span.line)
            for check in other_checks(view)
            if check.RULE.severity == "error" or check.RULE.name == "promise-untested"
            for f in check.check(view)
            if f.severity != "note"
        )

    def errors(self) -> frozenset[Error]:
        """The same of the recipe after the change."""
        return self.bare_errors(self.mended)

    @cached_property
    def linked(self) -> frozenset[frozenset[Ring]]:
        """The links of the recipe after the change."""
        return frozenset(
            frozenset((a, b)) for a, others in self.mended.work.links.items() for b in others
        )

    def alike(self, other: Trial) -> bool:
        """True where two changes make the same piece."""
        return self.linked == other.linked
