"""Causes in words, shared by the checks that tell of them."""

from __future__ import annotations

from dataclasses import replace

from recipe.blame import Cause
from recipe.edits import Edit, apply
from recipe.phrases import ref_phrase
from recipe.steps import role_indexes
from recipe.syntax import Name, Recipe, Ref

#: More rivals than this say no more than that nothing points to one of them.
MOST_RIVALS = 2


def cause_words(edit: Edit, likely: str = "most likely ") -> str:
    """What happened, said of the step; `likely` is put in as a reservation.

    The sentence has no full stop, so that it can stand before a colon.
    """
    step = edit.step.number
    match edit.kind:
        case "add":
            assert edit.new is not None
            return f"step {step} {likely}also goes through {ref_phrase(edit.new)}"
        case "remove":
            assert edit.ref is not None
            return f"step {step} {likely}does not go through {ref_phrase(edit.ref)}"
        case "replace":
            assert edit.ref is not None
            assert edit.new is not None
            return (
                f"step {step} {likely}goes through {ref_phrase(edit.new)} where it says"
                f" '{edit.ref}'"
            )
        case "drop step":
            return f"step {step} is {likely}one too many"
        case "swap steps":
            assert edit.other is not None
            return f"steps {step} and {edit.other.number} {likely}change places"
        case _:
            return f"the count stated in step {step} is {likely}mistyped"


def headline(cause: Cause) -> str:
    """What most likely happened; where several rings of one step fit as well, none is named."""
    edit = cause.edit
    if _alike(cause):
        more = "one ring more" if edit.kind == "add" else "a ring too many"
        return f"step {edit.step.number} most likely goes through {more}"
    return cause_words(edit)


def _rivals(cause: Cause) -> list[Edit]:
    return [e for e in cause.rivals if e.kind != "picks"][:MOST_RIVALS]


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
    placed = {role_indexes((b,)).get(role, ()) for b in recipe.blocks} - {()}
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
        case "add" | "remove" | "replace":
            after = apply(recipe, edit).steps()
            step = next(s for s in after if s.number == edit.step.number)
            words = ", ".join(map(str, _folded(recipe, step.through, edit.new)))
            return f"write 'through {words}'" if words else ""
        case _:
            return ""


def _guess(recipe: Recipe, edit: Edit) -> str:
    """A cause and what to type for it, as one line."""
    mend = to_type(recipe, edit)
    return f"{cause_words(edit, '')}{f'; {mend}' if mend else ''}"


def _either(recipe: Recipe, cause: Cause) -> tuple[str, ...]:
    """Mends that are as near as one another, none of them chosen."""
    return (
        f"either: {_guess(recipe, cause.edit)}",
        *(f"or: {_guess(recipe, e)}" for e in _rivals(cause)),
    )


def mend_lines(recipe: Recipe, cause: Cause | None) -> tuple[str, ...]:
    """What to type, under a first line that is the cause's `headline`."""
    if cause is None:
        return ()
    if _alike(cause):
        return _either(recipe, cause)
    mend = to_type(recipe, cause.edit)
    rivals = tuple(f"as likely: {_guess(recipe, e)}" for e in _rivals(cause))
    return (f"to mend: {mend}", *rivals) if mend else rivals


def most_likely(recipe: Recipe, cause: Cause | None) -> tuple[str, ...]:
    """The guess, and what to type for it, under a message that does not name the cause."""
    if cause is None or cause.edit.kind == "picks":
        return ()
    if _rivals(cause):
        return _either(recipe, cause)
    return (f"most likely: {_guess(recipe, cause.edit)}",)
