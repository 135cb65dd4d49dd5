"""What a fold looks like that is left out every time, which no count shows.

Comes in: a `View` without errors. Go out: words for the slip and the recipe that makes it.
"""

from __future__ import annotations

from ringstep.checks.pipeline import view_of
from ringstep.checks.view import View, with_variant
from ringstep.language.source import source_from_text
from ringstep.language.syntax import Step
from ringstep.language.tree import Tree


def fold_left_out(view: View) -> tuple[str, View] | None:
    """The recipe without the first fold of a unit; None where there is none to leave out.

    A ring from the wrong side every time is no slip to be shown: often that is the mirror image,
    which is as good.
    """
    recipe = view.recipe
    folds = [s for b in recipe.blocks if b.kind == "unit" for s in b.steps if s.kind == "fold back"]
    if recipe.made or not folds:
        return None
    wrong = view_of(source_from_text(_without(recipe, folds[0]), recipe.source.name))
    if wrong.troubles:
        return None
    chosen = view.chosen.name if view.chosen else None
    return f"step {folds[0].number} left out every time", with_variant(wrong, chosen)


def _without(recipe: Tree, step: Step) -> str:
    """The text without a step and its hint."""
    lines = recipe.source.lines
    others = sorted(s.span.line for s in recipe.every_step() if s.span.line > step.span.line)
    hints = range(step.span.line, others[0] - 1 if others else len(lines))
    gone = {step.span.line - 1}
    gone |= {n for n in hints if lines[n].strip().casefold().startswith("hint")}
    return "\n".join(text for n, text in enumerate(lines) if n not in gone)
