"""Causes in words, shared by the checks that tell of them."""

from __future__ import annotations

from recipe.blame import Cause
from recipe.edits import Edit
from recipe.phrases import ref_phrase
from recipe.syntax import Ref, Step


def typed(ref: Ref) -> str:
    """A list item as it is typed."""
    return str(ref)


def cause_words(edit: Edit) -> str:
    """What most likely happened, said of the step.

    The sentence has no full stop, so that it can stand behind a colon.
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
        case _:
            return f"the count stated in step {step} is most likely mistyped"


def list_after(step: Step, edit: Edit) -> str:
    """The step's list as it reads after the mend."""
    refs = [r for r in step.through if r is not edit.ref or edit.kind == "replace"]
    words = [typed(edit.new) if r is edit.ref and edit.new else typed(r) for r in refs]
    if edit.kind == "add" and edit.new:
        words.append(typed(edit.new))
    return ", ".join(words)


def mend_lines(cause: Cause | None) -> tuple[str, ...]:
    """What to type, and the rivals where they are as near."""
    if cause is None:
        return ()
    edit = cause.edit
    lines = []
    if edit.kind in ("add", "replace", "remove") and (words := list_after(edit.step, edit)):
        lines.append(f"to mend, write in step {edit.step.number}: 'through {words}'")
    rivals = [cause_words(e) for e in cause.rivals if e.kind != "picks"][:2]
    lines += [f"as likely: {words}" for words in rivals]
    return tuple(lines)


def most_likely(cause: Cause | None) -> tuple[str, ...]:
    """The one-line guess under a message that already names the step."""
    if cause is None or cause.edit.kind == "picks":
        return ()
    lines = [f"most likely: {cause_words(cause.edit).replace(' most likely', '')}"]
    return (*lines, *mend_lines(cause))
