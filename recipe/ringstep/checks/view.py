"""What every check may look at: one recipe, read, carried out and diagnosed once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import cached_property

from ringstep.checks.diagnosis import Cause, Diagnosis
from ringstep.checks.faults import (
    Fault,
    Forgotten,
    NeverUsed,
    OffPromise,
    UnitOff,
    Unlike,
    find_faults,
)
from ringstep.language.findings import TextEdit, typed_in
from ringstep.language.parse import parse
from ringstep.language.size_sets import of_size, set_names
from ringstep.language.source import Refused, Span, source_from_text
from ringstep.language.syntax import Along, split_name
from ringstep.language.words import or_nearest
from ringstep.weave.grading import even_at
from ringstep.weave.lie import Lying, follow
from ringstep.weave.piece import Weave
from ringstep.weave.promises import Side, contradictions
from ringstep.weave.resolved import Resolved


class View(Resolved):
    """A recipe, what it comes to, and what is wrong with it.

    whole: of a piece that is made first the recipe that joins it.
    on_trial: True for a recipe as a mend leaves it. Its text is still the old one, and mends that
    it would be offered are not asked for; to try them as well would go round for ever.
    """

    on_trial = False
    whole: View | None = None

    @cached_property
    def pieces(self) -> tuple[View, ...]:
        """The pieces that are made first, each as a recipe of its own."""
        found = tuple(View(made.tree, ()) for made in self.recipe.made)
        for view in found:
            view.__dict__["chosen"], view.on_trial = self.chosen, self.on_trial
            view.whole = self
        return found

    @cached_property
    def every_fault(self) -> list[Fault]:
        """The faults of the pieces that are made first, and those of the whole."""
        return [f for view in (*self.pieces, self) for f in view.faults]

    @cached_property
    def faults(self) -> list[Fault]:
        """The faults in the links; none where steps could not be read."""
        if not self.steps_read or not self.recipe.blocks or not self.fits:
            return []
        return find_faults(self.weave)

    @cached_property
    def diagnosis(self) -> Diagnosis:
        """The faults in the links and what explains them."""
        if not self.faults:
            return Diagnosis((), ())
        from ringstep.checks.blame import diagnose

        found = diagnose(self.weave, self.faults)
        if self.whole is None or self.on_trial or len(found.causes) != 1:
            return found
        return replace(found, causes=(self._right_as_joined(found.causes[0]),))

    def _right_as_joined(self, cause: Cause) -> Cause:
        """A cause with those of its changes alone that make the whole right as well, where any
        does: which ring of a piece is meant may show only where it is joined."""
        lines = self.recipe.source.lines
        after = (
            (edit, read_again(typed_in(lines, edit.typed(self.recipe))))
            for edit in (cause.edit, *cause.rivals)
        )
        right = [e for e, v in after if not v.troubles and not any(f.weight for f in v.every_fault)]
        return replace(cause, edit=right[0], rivals=tuple(right[1:])) if right else cause

    @cached_property
    def contradictions(self) -> tuple[tuple[Side, Side], ...]:
        """Promises that cannot both be kept, the wrong one first; none while the steps have faults
        that show without any promise of what rings meet, for a ring left out changes the numbers.
        """
        if not self.recipe.meets or not self.steps_read or not self.fits:
            return ()
        if self.recipe.of or self.recipe.made:
            return ()  # what is joined meets more than its units tell
        if any(f.weight and not isinstance(f, OffPromise) for f in self.diagnosis.faults):
            return ()
        return tuple(contradictions(self.weave))

    @cached_property
    def forgotten(self) -> frozenset[str]:
        """Roles whose step seems to be forgotten; what else is wrong with them follows from it."""
        found = [n for f in self.diagnosis.faults if isinstance(f, Forgotten) for n in f.names]
        found += self.diagnosis.misspelt
        return frozenset(split_name(name.replace(" ", ""))[0] for name in found)

    @cached_property
    def lying(self) -> Lying | None:
        """How the rings lie with the links mended; None where that cannot be told."""
        if not self.steps_read or not self.recipe.blocks or not self.fits:
            return None
        harmless = NeverUsed | UnitOff | OffPromise
        whole = all(isinstance(f, harmless) for f in self.diagnosis.faults)
        if any(isinstance(f, Unlike) and not f.weight for f in self.diagnosis.faults):
            return None  # a unit whose moves or lays are not its siblings' says that itself
        weave = self.mended or (self.weave if whole else None)
        return None if weave is None or weave.snags else follow(weave)

    @cached_property
    def mended(self) -> Weave | None:
        """The recipe with every fault in its links mended; None where some have no known cause.

        What follows from a fault (a lay owed because a ring is missing) is gone here.
        """
        if not self.steps_read or not self.recipe.blocks:
            return None
        if not self.diagnosis.faults:
            return self.weave
        if not any(f.weight for f in self.diagnosis.faults):
            return self.weave
        if not self.diagnosis.causes or not self.diagnosis.causes[-1].whole:
            return None
        recipe = self.recipe
        for cause in self.diagnosis.causes:
            recipe = cause.edit.apply(recipe)
        return Weave(recipe, self.chosen)

    @cached_property
    def in_sizes(self) -> tuple[tuple[str, Weave], ...]:
        """The piece in each of its sets of sizes, by name: the same links, other rings."""
        recipe = self.recipe
        return tuple((n, self.weave.of_rings(of_size(recipe, n))) for n in set_names(recipe))


def read_again(lines: Iterable[str]) -> View:
    """The view of a text after a change."""
    return View(*parse(source_from_text("\n".join(lines))))


def with_typed(view: View, edits: tuple[TextEdit, ...]) -> View | None:
    """The recipe with a change typed in; None while another change is tried, for then no mend of
    what that leaves is asked for."""
    return None if view.on_trial else read_again(typed_in(view.recipe.source.lines, edits))


def comes_right(
    view: View, edits: tuple[TextEdit, ...], check: Callable[[View], Iterator[object]] | None = None
) -> bool:
    """True where a change of the text leaves nothing wrong with the links, nor for a check to say.

    While one change is tried no other is: then it is False.
    """
    if (tried := with_typed(view, edits)) is None:
        return False
    tried.on_trial = True
    fits = all(one.fits for one in (tried, *tried.pieces))
    whole = not tried.troubles and fits and not any(f.weight for f in tried.every_fault)
    return whole and not any(check(of_piece(tried, view)) if check else ())


def of_piece(whole: View, view: View) -> View:
    """Of a recipe read again that part which another view is of: a piece made first, or all."""
    return next((x for x in whole.pieces if x.recipe.of == view.recipe.of), whole)


def even_stretches(view: View) -> tuple[tuple[Along | None, View], ...]:
    """The stretches of a piece whose sizes change along it, each as if all of it were so; None
    with the view itself where they do not change."""
    layout, found = view.weave.layout, []
    for first, last, _ in view.weave.grading.stretches(view.weave.names):
        even = View(even_at(view.recipe, first), view.troubles)
        even.__dict__["chosen"] = view.chosen
        found.append((Along(first, last, layout.flat, Span(1, 1, 1)), even))
    return tuple(found) or ((None, view),)


def with_size(view: View, size: str | None) -> View:
    """The view in a set of sizes chosen by name, or in the recipe's own. Raises `NoSize`."""
    if size is None:
        return view
    other = View(of_size(view.recipe, size), view.troubles)
    other.__dict__["chosen"] = view.chosen
    return other


class NoVariant(Refused):
    """The variant asked for is not in the recipe."""


def with_variant(view: View, name: str | None) -> View:
    """The view with a variant chosen by name. Raises `NoVariant`."""
    if name is None:
        return view
    variants = {v.name: v for v in view.recipe.variants}
    if name not in variants:
        raise NoVariant(f"the recipe has no variant '{name}'{or_nearest(name, variants)}")
    other = View(view.recipe, view.troubles)
    other.__dict__["chosen"] = variants[name]
    return other
