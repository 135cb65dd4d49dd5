"""One small change to a recipe: a ring added to a list, taken out, changed; a step gone or moved.

Comes in: a recipe. Goes out: the same recipe with one place changed, and the change of the text
that makes it. Blame tries such changes as mends; the slip tests make slips of them. One class a
kind of change; what they share is `step`, `rank` (how far-fetched, smaller first), `apply` and
`typed`.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace

from ringstep.language.findings import TextEdit, instead
from ringstep.language.promised import Meets
from ringstep.language.source import Span
from ringstep.language.syntax import Block, Name, NewItem, Ref, Stated, Step
from ringstep.language.tree import Tree


def with_step(recipe: Tree, changed: Step) -> Tree:
    """The recipe with the step of that number replaced."""
    blocks = tuple(
        replace(b, steps=tuple(changed if s.number == changed.number else s for s in b.steps))
        if any(s.number == changed.number for s in b.steps)
        else b
        for b in recipe.blocks
    )
    return replace(recipe, blocks=blocks)


def listed_refs(refs: tuple[Ref, ...]) -> str:
    """A list after `through` as it is typed.

    The first item is told without its `then`, whatever it had.
    """
    told = [f"{' then ' if ref.then else ', '}{ref}" for ref in refs[1:]]
    return "".join(map(str, (*refs[:1], *told)))


def words_apart(one: tuple[str, ...], other: tuple[str, ...]) -> tuple[int, int]:
    """How many words of place one of two places has more, and how many the other."""
    a, b = Counter(one), Counter(other)
    return (a - b).total(), (b - a).total()


def _beside(refs: tuple[Ref, ...], new: Ref) -> int:
    """Where a new item stands in a list: at its end, or, where `then` parts the list, behind the
    item whose place is nearest to its own."""
    if not any(ref.then for ref in refs):
        return len(refs)

    def apart(at: int) -> tuple[int, bool, int]:
        away = sum(words_apart(refs[at].places, new.places))
        return away, refs[at].name.role != new.name.role, -at

    return min(range(len(refs)), key=apart) + 1


@dataclass(frozen=True)
class _OfStep:
    """A change that begins in one step; step numbers stay, so that it can be found again."""

    step: Step
    rank: tuple[int, ...] = field(default=(), kw_only=True)

    @property
    def touched(self) -> tuple[int, ...]:
        """The numbers of the steps it changes."""
        return (self.step.number,)


@dataclass(frozen=True)
class _OfList(_OfStep):
    """A change of one list. picks: the count to state with it; None leaves what is stated."""

    picks: int | None = field(default=None, kw_only=True)

    def through(self, recipe: Tree) -> tuple[Ref, ...]:
        """The list after the change."""
        raise NotImplementedError

    def changed(self, recipe: Tree) -> Step:
        """The step after the change."""
        picks = self.step.picks
        if self.picks is not None:
            picks = Stated(str(self.picks), picks.span if picks else self.step.span)
        return replace(self.step, through=self.through(recipe), picks=picks)

    def apply(self, recipe: Tree) -> Tree:
        """The recipe after the change."""
        return with_step(recipe, self.changed(recipe))

    def typed(self, recipe: Tree) -> tuple[TextEdit, ...]:
        """The change of the text."""
        # Rings and counts that an earlier mend of the same step brings do not stand in the text.
        step = next((s for s in recipe.steps() if s.number == self.step.number), self.step)
        changed = self.changed(recipe)
        refs, count = changed.through, changed.picks
        picks = f" picks {count.value}" if count and not step.picks else ""
        if step.through:
            span = step.through[0].span.to(step.through[-1].span)
            edits = [instead(span, listed_refs(refs) + picks)]
        else:
            at = max([*(i.span.end for i in step.new), *(r.span.end for r in step.refs)])
            edits = [instead(Span(step.span.line, at, at), f" through {listed_refs(refs)}{picks}")]
        if step.picks and count and count.value != step.picks.value:
            edits.append(instead(step.picks.span, f"picks {count.value}"))
        return tuple(edits)


@dataclass(frozen=True)
class AddRing(_OfList):
    """A list names one item more."""

    new: Ref

    def through(self, recipe: Tree) -> tuple[Ref, ...]:
        """The list with the item; rings that are now all of their role are named by it."""
        refs = self.step.through
        at = _beside(refs, self.new)
        return _folded(recipe, (*refs[:at], self.new, *refs[at:]), self.new)


@dataclass(frozen=True)
class RemoveRing(_OfList):
    """A list names one item less."""

    ref: Ref

    def through(self, recipe: Tree) -> tuple[Ref, ...]:
        """The list without the item."""
        refs = list(self.step.through)
        at = next(i for i, r in enumerate(refs) if r is self.ref)
        if at + 1 < len(refs):  # the place it began still begins there
            then = at > 0 and (self.ref.then or refs[at + 1].then)
            refs[at + 1] = replace(refs[at + 1], then=then)
        return tuple(r for r in refs if r is not self.ref)


@dataclass(frozen=True)
class ReplaceRing(_OfList):
    """A list names another item in place of one."""

    ref: Ref
    new: Ref

    def through(self, recipe: Tree) -> tuple[Ref, ...]:
        """The list with the new item where the old one stood."""
        new = replace(self.new, then=self.ref.then)
        refs = tuple(new if r is self.ref else r for r in self.step.through)
        return _folded(recipe, refs, new)


def _folded(recipe: Tree, refs: tuple[Ref, ...], new: Ref) -> tuple[Ref, ...]:
    """The list with the rings around a new one written as their role, where they are all of it.

    `prev M1` with `prev M2` added is `prev M`; what the author wrote elsewhere stays as it is.
    """
    if new.name.index is None:
        return refs
    role = new.name.role
    kin = [
        r
        for r in refs
        if (r.places, r.name.role, r.if_there) == (new.places, role, new.if_there)
        and r.name.index is not None
    ]
    placed = {b.placed.get(role, ()) for b in recipe.blocks} - {()}
    if any(r.then for r in kin[1:]):
        return refs  # they are gone through at two places
    if len(kin) < 2 or len(placed) != 1 or {r.name.index for r in kin} != set(*placed):
        return refs
    whole = replace(kin[0], name=Name(role, None, kin[0].name.span))
    return tuple(whole if r is kin[0] else r for r in refs if r is kin[0] or r not in kin)


@dataclass(frozen=True)
class ChangePicks(_OfStep):
    """A step states another count."""

    count: int

    def apply(self, recipe: Tree) -> Tree:
        """The recipe after the change."""
        picks = self.step.picks and replace(self.step.picks, value=str(self.count))
        return with_step(recipe, replace(self.step, picks=picks))

    def typed(self, recipe: Tree) -> tuple[TextEdit, ...]:
        """The change of the text."""
        return (instead(self.step.picks.span, f"picks {self.count}"),) if self.step.picks else ()


@dataclass(frozen=True)
class DropStep(_OfStep):
    """A step is not done."""

    def apply(self, recipe: Tree) -> Tree:
        """The recipe after the change."""
        blocks = tuple(
            replace(b, steps=tuple(s for s in b.steps if s.number != self.step.number))
            for b in recipe.blocks
        )
        return replace(recipe, blocks=blocks)

    def typed(self, recipe: Tree) -> tuple[TextEdit, ...]:
        """The change of the text."""
        line = self.step.span.line
        return (TextEdit(line, 1, _behind(recipe, line) + 1, 1, ""),)


@dataclass(frozen=True)
class SwapSteps(_OfStep):
    """Two steps, one behind the other, change places."""

    other: Step

    @property
    def touched(self) -> tuple[int, ...]:
        """The numbers of both steps."""
        return (self.step.number, self.other.number)

    def apply(self, recipe: Tree) -> Tree:
        """The recipe after the change."""
        order = {self.step.number: self.other, self.other.number: self.step}
        blocks = tuple(
            replace(b, steps=tuple(order.get(s.number, s) for s in b.steps)) for b in recipe.blocks
        )
        return replace(recipe, blocks=blocks)

    def typed(self, recipe: Tree) -> tuple[TextEdit, ...]:
        """The change of the text."""
        first, second = self.step.span.line, self.other.span.line
        last = _behind(recipe, second)
        lines = recipe.source.lines
        moved = [*lines[second - 1 : last], *lines[first - 1 : second - 1]]
        return (TextEdit(first, 1, last, len(lines[last - 1]) + 1, "\n".join(moved)),)


def _behind(recipe: Tree, line: int) -> int:
    """The last line of a step: its own, or that of its last hint."""
    plain = recipe.source.plain
    while line < len(plain) and plain[line].split()[:1] == ["hint"]:
        line += 1
    return line


@dataclass(frozen=True)
class SwapNames(_OfStep):
    """Two names of lists change places; other: the step of the second, None where it is the same.

    ref, new: the two items.
    """

    ref: Ref
    new: Ref
    other: Step | None = None

    @property
    def touched(self) -> tuple[int, ...]:
        """The numbers of the steps."""
        return (self.step.number, *([self.other.number] if self.other else []))

    def apply(self, recipe: Tree) -> Tree:
        """The recipe after the change."""
        turned = {
            id(self.ref): replace(self.ref, name=self.new.name),
            id(self.new): replace(self.new, name=self.ref.name),
        }
        for changed in (self.step, self.other or self.step):
            lists = tuple(turned.get(id(r), r) for r in changed.through)
            recipe = with_step(recipe, replace(changed, through=lists))
        return recipe

    def typed(self, recipe: Tree) -> tuple[TextEdit, ...]:
        """The change of the text."""
        return (
            instead(self.ref.span, str(replace(self.ref, name=self.new.name))),
            instead(self.new.span, str(replace(self.new, name=self.ref.name))),
        )


@dataclass(frozen=True)
class SwapPlaced(_OfStep):
    """Two steps place each other's rings."""

    other: Step

    @property
    def touched(self) -> tuple[int, ...]:
        """The numbers of both steps."""
        return (self.step.number, self.other.number)

    def apply(self, recipe: Tree) -> Tree:
        """The recipe after the change."""
        recipe = with_step(recipe, replace(self.step, new=self.other.new))
        return with_step(recipe, replace(self.other, new=self.step.new))

    def typed(self, recipe: Tree) -> tuple[TextEdit, ...]:
        """The change of the text."""
        pairs = ((self.step, self.other), (self.other, self.step))
        return tuple(
            instead(to.new[0].span.to(to.new[-1].span), ", ".join(map(_item, by.new)))
            for to, by in pairs
        )


def _item(item: NewItem) -> str:
    return str(item.name) if item.count in (None, 1) else f"{item.count} {item.name}"


@dataclass(frozen=True)
class RenamePlaced(_OfStep):
    """A step places its rings under another name."""

    item: NewItem
    name: Name

    def apply(self, recipe: Tree) -> Tree:
        """The recipe after the change."""
        new = replace(self.item, name=self.name)
        items = tuple(new if i is self.item else i for i in self.step.new)
        return with_step(recipe, replace(self.step, new=items))

    def typed(self, recipe: Tree) -> tuple[TextEdit, ...]:
        """The change of the text."""
        return (instead(self.item.name.span, str(self.name)),)


@dataclass(frozen=True)
class ChangeCount(_OfStep):
    """A step places another number of its rings.

    picks: the count to state with it; None leaves what is stated.
    """

    item: NewItem
    count: int
    picks: int | None = field(default=None, kw_only=True)

    def apply(self, recipe: Tree) -> Tree:
        """The recipe after the change."""
        item = replace(self.item, count=self.count)
        items = tuple(item if i is self.item else i for i in self.step.new)
        picks = self.step.picks
        if picks is not None and self.picks is not None:
            picks = replace(picks, value=str(self.picks))
        return with_step(recipe, replace(self.step, new=items, picks=picks))

    def typed(self, recipe: Tree) -> tuple[TextEdit, ...]:
        """The change of the text."""
        edits = [instead(self.item.span, _item(replace(self.item, count=self.count)))]
        if self.step.picks is not None and self.picks is not None:
            edits.append(instead(self.step.picks.span, f"picks {self.picks}"))
        return tuple(edits)


@dataclass(frozen=True)
class InsertStep(_OfStep):
    """A step of a sibling unit, `step`, is done in `block` as well, behind `after` of its steps."""

    block: Block
    after: int

    @property
    def touched(self) -> tuple[int, ...]:
        """It changes no step that there is."""
        return ()

    def apply(self, recipe: Tree) -> Tree:
        """The recipe after the change; the new step has the number of none."""
        new = replace(self.step, number=self.step.number + 100_000)
        steps = (*self.block.steps[: self.after], new, *self.block.steps[self.after :])
        blocks = tuple(replace(b, steps=steps) if b is self.block else b for b in recipe.blocks)
        return replace(recipe, blocks=blocks)

    def typed(self, recipe: Tree) -> tuple[TextEdit, ...]:
        """The change of the text."""
        lines, line = recipe.source.lines, self.block.span.line
        if self.after:
            line = _behind(recipe, self.block.steps[self.after - 1].span.line)
        text = lines[self.step.span.line - 1]
        return (TextEdit(line + 1, 1, line + 1, 1, f"{text}\n"),)


@dataclass(frozen=True)
class SplitStep(_OfStep):
    """Two rings placed by one step come one after the other, the second through the first."""

    @property
    def steps(self) -> tuple[Step, Step]:
        """The two steps; the second has the number of none."""
        (item,) = self.step.new
        one, two = (replace(item, name=replace(item.name, index=i), count=None) for i in (1, 2))
        first = Ref((), one.name, False, item.span)
        through = (*self.step.through, first)
        picks = Stated(str(len(through)), item.span) if len(through) > 1 else None
        second = replace(
            self.step,
            number=self.step.number + 100_000,
            kind="add",
            new=(two,),
            through=through,
            picks=picks,
        )
        if self.step.toward is None or self.step.toward.value != "each side":
            return replace(self.step, new=(one,)), second
        left, right = (replace(self.step.toward, value=side) for side in ("left", "right"))
        return replace(self.step, new=(one,), toward=left), replace(second, toward=right)

    @property
    def lines(self) -> tuple[str, str]:
        """The two steps as they are typed."""
        told = []
        for step in self.steps:
            words = f"{step.kind} {step.new[0].name}"
            words += f" on the {step.toward.value}" if step.toward else ""
            words += f" through {listed_refs(step.through)}" if step.through else ""
            words += " at one place" if step.at_one_place else ""
            told.append(words + (f" picks {step.picks.value}" if step.picks else ""))
        return told[0], told[1]

    def apply(self, recipe: Tree) -> Tree:
        """The recipe after the change."""
        blocks = []
        for block in recipe.blocks:
            pairs = [self.steps if s is self.step else (s,) for s in block.steps]
            blocks.append(replace(block, steps=tuple(s for pair in pairs for s in pair)))
        return replace(recipe, blocks=tuple(blocks))

    def typed(self, recipe: Tree) -> tuple[TextEdit, ...]:
        """The change of the text."""
        span = self.step.span
        indent = recipe.source.lines[span.line - 1][: span.column - 1]
        return (instead(span, f"\n{indent}".join(self.lines)),)


@dataclass(frozen=True)
class ChangePromise:
    """A line of 'expect:' promises what is measured; several lines where rings of it differ."""

    meets: Meets
    new: tuple[Meets, ...]
    lines: tuple[str, ...]
    rank: tuple[int, ...] = ()

    @property
    def touched(self) -> tuple[int, ...]:
        """It changes no step."""
        return ()

    def apply(self, recipe: Tree) -> Tree:
        """The recipe after the change."""
        meets = [n for m in recipe.meets for n in (self.new if m is self.meets else (m,))]
        return replace(recipe, meets=tuple(meets))

    def typed(self, recipe: Tree) -> tuple[TextEdit, ...]:
        """The change of the text."""
        span = self.meets.span
        indent = recipe.source.lines[span.line - 1][: span.column - 1]
        return (instead(span, f"\n{indent}".join(self.lines)),)


ListEdit = AddRing | RemoveRing | ReplaceRing
StepEdit = (
    ListEdit
    | ChangeCount
    | ChangePicks
    | DropStep
    | SwapSteps
    | SwapNames
    | SwapPlaced
    | RenamePlaced
    | InsertStep
    | SplitStep
)
Edit = StepEdit | ChangePromise
