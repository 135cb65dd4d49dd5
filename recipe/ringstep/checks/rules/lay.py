"""A lay that is not stated where it makes a difference.

When a new ring joins rings that already link one another, it can enter from the front or from the
back, and the links alone do not tell the two apart: the pieces are different. Such a step says
'lay front', 'lay back', or leaves it to a variant with 'lay varies'. Turning every lay over gives
the mirror image.

Wrong:

    weave "Spiral"
    rings:
      all  wire 1.0 mm, inside 4.5 mm, brass
    expect:
      A meets 4
    start:
      close A
    unit:
      add A through prev A, prev prev A if there
    piece:
      chain 60 units

Right:

    weave "Spiral"
    rings:
      all  wire 1.0 mm, inside 4.5 mm, brass
    expect:
      A meets 4
    start:
      close A
    unit:
      add A through prev A, prev prev A if there lay front
    piece:
      chain 60 units
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from ringstep.checks.view import View, read_again
from ringstep.language.findings import Finding, Label, Mend, Rule, instead, typed_in
from ringstep.language.source import Span
from ringstep.language.syntax import Step
from ringstep.language.words import listed, plural
from ringstep.weave.phrases import (
    list_span,
    new_phrase,
    places_one,
    ref_phrase,
    rings_phrase,
    stands_phrase,
)

if TYPE_CHECKING:
    from ringstep.checks.edits import RemoveRing, ReplaceRing

RULE = Rule("lay-unstated", "error")


def how_many(choices: int) -> str:
    """2 to the power of the free choices, as a number one can read.

    >>> how_many(1), how_many(10), how_many(60)
    ('2', '1,024', '2 to the power of 60')
    """
    return f"{2**choices:,}" if choices <= 30 else f"2 to the power of {choices:,}"


def check(view: View) -> Iterator[Finding]:
    """Steps that owe a lay and do not state one."""
    weave = view.mended
    if weave is None:
        return
    owing: dict[int, dict[tuple[str, str], None]] = {}
    for act in weave.work.acts:
        if act.owes_lay:
            names = owing.setdefault(act.step.number, {})
            for r in act.through:
                where = stands_phrase(weave.work.layout, (act.row, act.unit), r)
                names[weave.name(r), where] = None
    if not owing:
        return
    blamed = view.diagnosis.blamed
    from ringstep.checks.edits import ReplaceRing
    from ringstep.checks.odd_link import odd_links, unstated

    # What may be meant instead is for people; a mend on trial only has to owe nothing new.
    sought = not view.diagnosis.faults and not view.on_trial
    odd = odd_links(view.weave) if sought else []
    own = unstated(view.weave)
    elsewhere = [e for e in odd if isinstance(e, ReplaceRing) and e.step.number not in own]
    if len({e.ref.span for e in elsewhere}) == 1:
        yield _odd_link(view, elsewhere, sorted(own))
        return
    steps = [s for s in view.recipe.steps() if s.number in owing and s.number not in blamed]
    alone = sum(s.lay is None for s in steps) == 1
    for step in steps:
        if step.lay is None:
            rivals = [e for e in odd if e.step is step]
            yield _unstated(view, step, owing[step.number], _sides(view, step, alone), rivals)
        elif (
            step.lay.value == "varies"
            and not view.recipe.variants
            and "variants" not in view.recipe.unread
        ):
            yield Finding(
                RULE,
                step.lay.span,
                f"step {step.number} leaves its lay to a variant, and there is none",
                help=(
                    "add a section that names them:",
                    "variants:",
                    "  zigzag  lay front, back",
                    "or write 'lay front' or 'lay back'",
                ),
            )


def _odd_link(view: View, edits: list[ReplaceRing], owing: list[int]) -> Finding:
    """The one link through which alone lays are owed, where another place would owe none."""
    from ringstep.checks.wording import mend_of, to_type

    first = edits[0]
    steps = f"step{'s' * (len(owing) > 1)} {listed([str(n) for n in owing])}"
    owe = f"{steps} {'owes' if len(owing) == 1 else 'owe'}"
    either = "most likely" if len(edits) == 1 else "either"
    return Finding(
        RULE,
        first.ref.span,
        f"step {first.step.number} goes through {ref_phrase(first.ref)}, and only through that"
        f" {owe} a lay",
        labels=tuple(
            Label(list_span(s), "a lay is owed here")
            for s in view.recipe.steps()
            if s.number in owing
        ),
        help=(
            *(
                f"{either if e is first else 'or'}: {ref_phrase(e.new)} is meant;"
                f" {to_type(view.recipe, e)}"
                for e in edits
            ),
            f"if it is as you mean it, add 'lay front' or 'lay back' to {steps}",
        ),
        mends=tuple(mend_of(view.recipe, e) for e in edits),
    )


def _sides(view: View, step: Step, alone: bool) -> tuple[str, ...]:
    """The lays that may be meant, as they are typed.

    alone: True where no other step owes one, so that each can be tried to the end.
    """
    if view.recipe.variants and not any(
        s.lay and s.lay.value == "varies" for s in view.recipe.steps()
    ):
        return ("lay varies",)  # or the variants would have nothing to choose
    sides = ("lay front", "lay back")
    if not alone or view.on_trial or view.diagnosis.faults:
        return sides
    return tuple(s for s in sides if _comes_right(view, step, s)) or sides


def _comes_right(view: View, step: Step, side: str) -> bool:
    """True where nothing is left to say once the lay is typed in."""
    from ringstep.checks.pipeline import findings_of

    after = read_again(typed_in(view.recipe.source.lines, _typed(step, side).edits))
    return all(f.severity == "note" for f in findings_of(after))


def _typed(step: Step, side: str) -> Mend:
    end = Span(step.span.line, step.span.end, step.span.end)
    return Mend(f"add '{side}'", (instead(end, f" {side}"),))


def _unstated(
    view: View,
    step: Step,
    among: Iterable[tuple[str, str]],
    sides: tuple[str, ...],
    rivals: list[ReplaceRing | RemoveRing],
) -> Finding:
    from ringstep.checks.wording import guess, mend_of

    layout = view.weave.layout
    block = next(b for b in view.recipe.blocks if step in b.steps)
    if block.kind in ("start", "finish") or isinstance(block.label, int):
        count = "the recipe could mean two different pieces"
    elif layout.known and not layout.flat:
        weave = view.mended or view.weave
        acts = (a for a in weave.work.acts if a.step.number == step.number and a.owes_lay)
        free = sum(weave.stands_for(a) for a in acts)
        count = (
            "the recipe could mean 2 pieces if every unit is laid alike, and"
            f" {how_many(free)} over {plural(layout.units, 'unit')} if each is laid as it comes"
        )
    else:
        count = "the recipe could mean 2 pieces if every unit is laid alike, and many more if not"
    goes = "goes" if places_one(step) else "go"
    varies = "or 'lay varies', with the choices named in a 'variants:' section"
    return Finding(
        RULE,
        list_span(step),
        f"step {step.number} does not say from which side {new_phrase(step)} {goes} in",
        f"{rings_phrase(among)} already link one another",
        help=(
            count,
            f"add {listed([repr(s) for s in sides], 'or')} to the step",
            *((varies,) if len(sides) > 1 else ()),
            *(f"or {guess(view.recipe, e, step)}" for e in rivals),
        ),
        mends=(
            *(_typed(step, side) for side in sides),
            *(mend_of(view.recipe, e) for e in rivals),
        ),
    )
