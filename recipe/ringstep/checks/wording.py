"""Causes in words, and mends as words and as changes of the text, shared by the checks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ringstep.language.findings import Finding, Label, Mend, Rule
from ringstep.language.source import Span
from ringstep.language.syntax import Ref, Step
from ringstep.language.tree import Tree
from ringstep.language.words import listed, plural
from ringstep.weave.phrases import list_span, new_phrase, ref_phrase

if TYPE_CHECKING:
    from ringstep.checks.diagnosis import Cause
    from ringstep.checks.edits import Edit, SwapNames
    from ringstep.weave.piece import Weave

#: More rivals than this are counted, not named.
MOST_RIVALS = 5

#: Why a step of a row states no number for the row.
ONE_A_PLACE = "the steps of a row are worked at each of its places, so one a place makes the row"

#: How a loop is closed.
_CLOSING = "a loop is closed in 'finish:', by steps that go through 'last' and 'first' rings"


def cause_words(edit: Edit) -> str:
    """What most likely happened, said of the step.

    The sentence has no full stop, so that it can stand before a colon.
    """
    from ringstep.checks import edits

    match edit:
        case edits.AddRing():
            return f"step {edit.step.number} most likely also goes through {ref_phrase(edit.new)}"
        case edits.RemoveRing():
            return f"step {edit.step.number} most likely does not go through {ref_phrase(edit.ref)}"
        case edits.ReplaceRing():
            return (
                f"step {edit.step.number} most likely goes through {ref_phrase(edit.new)} where it"
                f" says '{edit.ref}'"
            )
        case edits.DropStep():
            return f"step {edit.step.number} is most likely one too many"
        case edits.InsertStep():
            return f"{edit.block.called} most likely also places {new_phrase(edit.step)}"
        case edits.SplitStep():
            return f"step {edit.step.number} most likely places its rings one through the other"
        case edits.SwapSteps():
            return f"steps {edit.step.number} and {edit.other.number} most likely change places"
        case edits.SwapNames():
            return f"{_swapped(edit)} most likely change places"
        case edits.SwapPlaced():
            return (
                f"steps {edit.step.number} and {edit.other.number} most likely place each other's"
                " rings"
            )
        case edits.RenamePlaced():
            return (
                f"step {edit.step.number} most likely places {edit.name.role} where it says"
                f" '{edit.item.name}'"
            )
        case edits.ChangeCount():
            each = f" at each of the {edit.item.count} places of the row" * (edit.count == 1)
            return f"step {edit.step.number} most likely places {edit.count} {edit.item.name}{each}"
        case edits.ChangePicks():
            return f"the count stated in step {edit.step.number} is most likely mistyped"
        case edits.ChangePromise():
            return f"the promise for {edit.meets.name} is most likely mistyped"


def place_of(edit: Edit) -> Span:
    """The smallest text in which a cause lies."""
    from ringstep.checks import edits

    match edit:
        case edits.InsertStep():
            return edit.block.span
        case edits.RenamePlaced():
            return edit.item.name.span
        case edits.ChangeCount():
            return edit.item.span
        case edits.ChangePromise():
            return edit.meets.span
        case _:
            return list_span(edit.step)


def _swapped(edit: SwapNames) -> str:
    """Two names of lists that have been exchanged, with their steps."""
    other = f" of step {edit.other.number}" if edit.other else ""
    return f"'{edit.ref.name}' of step {edit.step.number} and '{edit.new.name}'{other}"


def headline(cause: Cause) -> str:
    """What most likely happened; where several rings of one step fit as well, none is named."""
    from ringstep.checks import edits

    edit = cause.edit
    if _alike(cause) and isinstance(edit, edits.AddRing | edits.RemoveRing):
        more = "one ring more" if isinstance(edit, edits.AddRing) else "a ring too many"
        return f"step {edit.step.number} most likely goes through {more}"
    return cause_words(edit)


def _alike(cause: Cause) -> bool:
    """True where the rivals do the same to the same step, with another ring."""
    return bool(cause.rivals) and all(
        type(e) is type(cause.edit) and e.touched == cause.edit.touched for e in cause.rivals
    )


def _list(refs: tuple[Ref, ...], picks: int | None) -> str:
    from ringstep.checks.edits import listed_refs

    words = f"through {listed_refs(refs)}"
    return f"{words} picks {picks}" if picks is not None else words


def to_type(recipe: Tree, edit: Edit) -> str:
    """What to type for a change: 'write 'through prev M''."""
    from ringstep.checks import edits

    match edit:
        case edits.AddRing() | edits.RemoveRing() | edits.ReplaceRing():
            return f"write '{_list(edit.through(recipe), edit.picks)}'"
        case edits.DropStep():
            return f"take step {edit.step.number} out"
        case edits.InsertStep():
            line = recipe.source.lines[edit.step.span.line - 1]
            where = (
                f"behind step {edit.block.steps[edit.after - 1].number}"
                if edit.after
                else f"at the head of {edit.block.called}"
            )
            return f"write '{line.split('#')[0].strip()}' {where}"
        case edits.SplitStep():
            return "write two steps: " + ", then ".join(f"'{line}'" for line in edit.lines)
        case edits.SwapSteps():
            return f"write step {edit.other.number} before step {edit.step.number}"
        case edits.SwapPlaced():
            return (
                f"let step {edit.step.number} place {new_phrase(edit.other)} and step"
                f" {edit.other.number} {new_phrase(edit.step)}"
            )
        case edits.SwapNames():
            after = {s.number: s for s in edit.apply(recipe).steps()}
            words = f"write '{_list(after[edit.step.number].through, None)}'"
            if edit.other is None:
                return words
            twin = after[edit.other.number]
            return (
                f"{words} in step {edit.step.number} and '{_list(twin.through, None)}' in"
                f" step {twin.number}"
            )
        case edits.RenamePlaced():
            return f"write '{edit.name}' in step {edit.step.number}"
        case edits.ChangeCount(count=1):
            return f"write '{edit.item.name}' in step {edit.step.number}; {ONE_A_PLACE}"
        case edits.ChangeCount():
            also = f" and 'picks {edit.picks}'" if edit.picks is not None else ""
            return f"write '{edit.count} {edit.item.name}'{also} in step {edit.step.number}"
        case edits.ChangePicks():
            return f"write 'picks {edit.count}'"
        case edits.ChangePromise():
            return f"promise {listed([repr(line) for line in edit.lines])}"


def mend_of(recipe: Tree, edit: Edit) -> Mend:
    """A change as it is offered: what to type, and where."""
    return Mend(to_type(recipe, edit), edit.typed(recipe))


@dataclass(frozen=True)
class Offer:
    """What the help of a finding says of a cause, and the same as data."""

    help: tuple[str, ...] = ()
    mends: tuple[Mend, ...] = ()


def guess(recipe: Tree, edit: Edit, told: Step | None) -> str:
    """A cause and what to type for it, as one line under a message about the step `told`."""
    from ringstep.checks import edits

    mend = to_type(recipe, edit)
    here = told is not None and told.number in edit.touched
    match edit:
        case edits.AddRing():
            words = f"{ref_phrase(edit.new)} is missing"
        case edits.RemoveRing():
            # without strands no name behind a place is spoken of as if it were one
            astray = edit.ref.strand and not (recipe.piece and recipe.piece.strands)
            words = f"'{edit.ref}'" if astray else ref_phrase(edit.ref)
            words += " is too many"
        case edits.ReplaceRing() if str(edit.new) == f"{edit.ref} if there":
            words = f"'{edit.ref}' is left out where the piece ends"
        case edits.ReplaceRing():
            words = f"'{edit.ref}' is meant to be {ref_phrase(edit.new)}"
        case edits.DropStep():
            return f"step {edit.step.number} is one too many; {mend}"
        case edits.SwapNames():
            return f"{_swapped(edit)} change places; {mend}"
        case edits.ChangePicks():
            words = f"the count stated in step {edit.step.number} is mistyped"
            return f"{words}; {mend}"
        case _:
            return mend
    where = "" if here else f" in step {edit.step.number}"
    return f"{words}{where}; {mend}"


def _said(
    recipe: Tree, cause: Cause, alone: Callable[[], str], told: Step | None, led: bool
) -> Offer:
    """The mend alone, or all that are as near as one another, none of them chosen."""
    edits = (cause.edit, *cause.rivals)
    mends = tuple(mend_of(recipe, e) for e in edits)
    if len(edits) == 1:
        return Offer((alone(),), mends)
    first, *rest = [guess(recipe, e, told) for e in edits]
    shown = rest[:MOST_RIVALS]
    either, other = ("to mend", "as likely") if led else ("either", "or")
    lines = [f"{either}: {first}", *(f"{other}: {line}" for line in shown)]
    if more := len(rest) - len(shown):
        lines.append(f"and {plural(more, 'other change')} would do as well")
    return Offer(tuple(lines), mends)


def mend_offer(recipe: Tree, cause: Cause | None, told: Step | None = None) -> Offer:
    """What to type, under a first line that is the cause's `headline`."""
    if cause is None:
        return Offer()
    step = told or getattr(cause.edit, "step", None)
    return _said(
        recipe, cause, lambda: f"to mend: {to_type(recipe, cause.edit)}", step, not _alike(cause)
    )


def likely_offer(recipe: Tree, cause: Cause | None, told: Step | None) -> Offer:
    """The guess, and what to type for it, under a message that does not name the cause.

    told: the step the message speaks of; where the cause lies in another step, that is said.
    """
    if cause is None:
        return Offer()
    return _said(
        recipe, cause, lambda: f"most likely: {guess(recipe, cause.edit, told)}", told, False
    )


def open_loop(
    rule: Rule, weave: Weave, says: str, labels: tuple[Label, ...] = (), also: tuple[str, ...] = ()
) -> Finding:
    """A loop whose ends do not meet, told where it is closed, or else where the piece is told.

    says: how it shows. also: further lines of that.
    """
    finish = weave.layout.block("finish")
    told = finish or weave.recipe.piece
    assert told is not None  # what is a loop is told under 'piece:'
    message = f"the loop is not {'wholly ' if finish else ''}closed: {says}"
    return Finding(rule, told.span, message, labels=labels, help=(*also, _CLOSING))
