"""Causes in words, shared by the checks that tell of them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ringstep.language.syntax import Name, Recipe, Ref, Step
from ringstep.weave.phrases import new_phrase, ref_phrase

if TYPE_CHECKING:
    from ringstep.checks.diagnosis import Cause
    from ringstep.checks.edits import Edit

#: More rivals than this say no more than that nothing points to one of them.
MOST_RIVALS = 2


def cause_words(edit: Edit) -> str:
    """What most likely happened, said of the step.

    The sentence has no full stop, so that it can stand before a colon.
    """
    step = edit.step.number
    match edit.kind:
        case "add":
            assert edit.new is not None
            return f"step {step} most likely also goes through {ref_phrase(edit.new)}"
        case "remove":
            assert edit.ref is not None
            return f"step {step} most likely does not go through {ref_phrase(edit.ref)}"
        case "replace":
            assert edit.ref is not None
            assert edit.new is not None
            return (
                f"step {step} most likely goes through {ref_phrase(edit.new)} where it says"
                f" '{edit.ref}'"
            )
        case "drop step":
            return f"step {step} is most likely one too many"
        case "swap steps":
            assert edit.other is not None
            return f"steps {step} and {edit.other.number} most likely change places"
        case "swap names":
            return f"{_swapped(edit)} most likely change places"
        case "swap placed":
            assert edit.other is not None
            return f"steps {step} and {edit.other.number} most likely place each other's rings"
        case _:
            return f"the count stated in step {step} is most likely mistyped"


def _swapped(edit: Edit) -> str:
    """Two names of lists that have been exchanged, with their steps."""
    assert edit.ref is not None
    assert edit.new is not None
    other = f" of step {edit.other.number}" if edit.other else ""
    return f"'{edit.ref.name}' of step {edit.step.number} and '{edit.new.name}'{other}"


def headline(cause: Cause) -> str:
    """What most likely happened; where several rings of one step fit as well, none is named."""
    edit = cause.edit
    if _alike(cause):
        more = "one ring more" if edit.kind == "add" else "a ring too many"
        return f"step {edit.step.number} most likely goes through {more}"
    return cause_words(edit)


def _rivals(cause: Cause) -> list[Edit]:
    told = {cause_words(e): e for e in reversed(cause.rivals) if e.kind != "picks"}
    told.pop(cause_words(cause.edit), None)
    return list(reversed(told.values()))[:MOST_RIVALS]


def _alike(cause: Cause) -> bool:
    """True where the rivals do the same to the same step, with another ring."""
    edit, rivals = cause.edit, _rivals(cause)
    return bool(rivals) and all(
        e.kind == edit.kind in ("add", "remove") and e.step.number == edit.step.number
        for e in rivals
    )


def _folded(recipe: Recipe, refs: tuple[Ref, ...], new: Ref | None) -> tuple[Ref, ...]:
    """The list with the rings around a new one written as their role, where they are all of it.

    `prev M1` with `prev M2` added is `prev M`; what the author wrote elsewhere stays as it is.
    """
    if new is None or new.name.index is None:
        return refs
    role = new.name.role
    kin = [
        r
        for r in refs
        if (r.places, r.name.role, r.if_there) == (new.places, role, new.if_there)
        and r.name.index is not None
    ]
    placed = {b.placed.get(role, ()) for b in recipe.blocks} - {()}
    if len(kin) < 2 or len(placed) != 1 or {r.name.index for r in kin} != set(*placed):
        return refs
    whole = replace(kin[0], name=Name(role, None, kin[0].name.span))
    return tuple(whole if r is kin[0] else r for r in refs if r is kin[0] or r not in kin)


def to_type(recipe: Recipe, edit: Edit) -> str:
    """What to type for a change: 'write 'through prev M''; empty where there is nothing."""
    match edit.kind:
        case "drop step":
            return f"take step {edit.step.number} out"
        case "swap steps":
            assert edit.other is not None
            return f"write step {edit.other.number} before step {edit.step.number}"
        case "swap placed":
            assert edit.other is not None
            return (
                f"let step {edit.step.number} place {new_phrase(edit.other)} and step"
                f" {edit.other.number} {new_phrase(edit.step)}"
            )
        case "add" | "remove" | "replace" | "swap names":
            from ringstep.checks.edits import apply

            after = {s.number: s for s in apply(recipe, edit).steps()}
            new = edit.new if edit.kind == "add" or edit.kind == "replace" else None
            refs = _folded(recipe, after[edit.step.number].through, new)
            words = f"write 'through {', '.join(map(str, refs))}'" if refs else ""
            if edit.other is None:
                return words
            twin = after[edit.other.number]
            return (
                f"{words} in step {edit.step.number} and 'through"
                f" {', '.join(map(str, twin.through))}' in step {twin.number}"
            )
        case _:
            return ""


def _guess(recipe: Recipe, edit: Edit, told: Step | None) -> str:
    """A cause and what to type for it, as one line under a message about the step `told`."""
    mend = to_type(recipe, edit)
    here = told is not None and edit.step.number == told.number
    where = "" if here else f" in step {edit.step.number}"
    match edit.kind:
        case "add":
            assert edit.new is not None
            words = f"{ref_phrase(edit.new)} is missing{where}"
        case "remove":
            assert edit.ref is not None
            words = f"{ref_phrase(edit.ref)} is too many{where}"
        case "replace":
            assert edit.new is not None
            words = f"'{edit.ref}'{where} is meant to be {ref_phrase(edit.new)}"
        case "drop step":
            return f"step {edit.step.number} is one too many; {mend}"
        case "swap steps" | "swap placed":
            return mend
        case "swap names":
            words = f"{_swapped(edit)} change places"
        case _:
            words = f"the count stated in step {edit.step.number} is mistyped"
    return f"{words}; {mend}" if mend else words


def _either(recipe: Recipe, cause: Cause, told: Step | None) -> tuple[str, ...]:
    """Mends that are as near as one another, none of them chosen."""
    return (
        f"either: {_guess(recipe, cause.edit, told)}",
        *(f"or: {_guess(recipe, e, told)}" for e in _rivals(cause)),
    )


def mend_lines(recipe: Recipe, cause: Cause | None) -> tuple[str, ...]:
    """What to type, under a first line that is the cause's `headline`."""
    if cause is None:
        return ()
    if _alike(cause):
        return _either(recipe, cause, cause.edit.step)
    mend = to_type(recipe, cause.edit)
    rivals = tuple(f"as likely: {_guess(recipe, e, cause.edit.step)}" for e in _rivals(cause))
    return (f"to mend: {mend}", *rivals) if mend else rivals


def most_likely(recipe: Recipe, cause: Cause | None, told: Step | None) -> tuple[str, ...]:
    """The guess, and what to type for it, under a message that does not name the cause.

    told: the step the message speaks of; where the cause lies in another step, that is said.
    """
    if cause is None or cause.edit.kind == "picks":
        return ()
    if _rivals(cause):
        return _either(recipe, cause, told)
    return (f"most likely: {_guess(recipe, cause.edit, told)}",)
