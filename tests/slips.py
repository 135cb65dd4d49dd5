"""Slips of every kind over right recipes, and what the checker says of each.

`python tests/slips.py` makes every slip there is and prints the whole table; the tests make a
fixed sample. A slip is made in the syntax tree, so every line keeps its number.
"""

from __future__ import annotations

import random
import sys
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

import networkx as nx

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).resolve().parents[1] / "recipe"), str(Path(__file__).parent)]

from ringstep.checks.changes import candidate_refs, replace_edits
from ringstep.checks.edits import AddRing, DropStep, RemoveRing, ReplaceRing, SwapSteps, with_step
from ringstep.checks.faults import LINKING, off_counts
from ringstep.checks.pipeline import findings_of
from ringstep.checks.view import View
from ringstep.language.findings import Finding
from ringstep.language.parse import parse
from ringstep.language.source import source_from_text
from ringstep.language.syntax import OPENING, Block, Recipe, Ref, Stated, Step, joined
from ringstep.weave.likeness import compare
from ringstep.weave.phrases import list_span, place_phrase
from ringstep.weave.piece import Weave
from ringstep.weave.ring_graph import ring_graph

KINDS = (
    "ring dropped", "ring added", "ring replaced", "step dropped", "step doubled",
    "neighbours swapped", "lay left out", "lay flipped", "count mistyped",
)  # fmt: skip


@dataclass(frozen=True)
class Slip:
    """One slip: what, the recipe after it, the lines that would be right to name, and the rings."""

    kind: str
    where: str
    recipe: Recipe
    lines: frozenset[int]
    names: tuple[str, ...]


@dataclass
class Tally:
    """What came of the slips of one kind."""

    tried: int = 0
    same: int = 0
    real: int = 0
    caught: int = 0
    line: int = 0
    named: int = 0
    untold: list[tuple[str, str]] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    false_alarm: list[str] = field(default_factory=list)


def read(text: str) -> Recipe:
    """The recipe of a text that reads without trouble."""
    recipe, troubles = parse(source_from_text(text))
    assert not troubles, troubles
    return recipe


def _names(ref: Ref, index: int | None = None) -> tuple[str, ...]:
    index = ref.name.index if index is None else index
    name = ref.name.role if index is None else joined(ref.name.role, index)
    spoken = f"{name} {place_phrase(ref.places)}".strip()
    typed = " ".join((*ref.places, name))
    role = " ".join((*ref.places, ref.name.role))
    return (typed, spoken, role, f"{ref.name.role} {place_phrase(ref.places)}".strip())


def _block_lines(block: Block, step: Step) -> frozenset[int]:
    return frozenset({block.span.line, *(s.span.line for s in block.steps)})


def _adding(recipe: Recipe, block: Block, step: Step) -> Iterator[AddRing]:
    have = {(r.places, r.name.role, r.name.index) for r in step.through}
    for ref, used in candidate_refs(recipe, block):
        whole = (ref.places, ref.name.role, None) in have
        part = any(p == ref.places and r == ref.name.role for p, r, _ in have)
        if used and not whole and not (part and ref.name.index is None):
            yield AddRing(step, replace(ref, span=list_span(step)))


def slips(recipe: Recipe, rng: random.Random | None = None, most: int = 10**9) -> Iterator[Slip]:
    """Every slip of a recipe; with `rng` at most `most` of each kind, drawn by it."""
    found: dict[str, list[Slip]] = defaultdict(list)
    replacing: dict[int, list[ReplaceRing]] = defaultdict(list)
    for edit in replace_edits(recipe):
        if edit.rank[2] <= 1 and edit.rank[1] <= 0:
            new = replace(edit.new, span=edit.ref.span)
            replacing[edit.step.number].append(replace(edit, new=new))
    for block in recipe.blocks:
        for at, step in enumerate(block.steps):
            here = f"step {step.number}"
            line = frozenset({step.span.line})

            def slip(
                kind: str,
                what: str,
                after: Recipe,
                lines: frozenset[int],
                names: tuple[str, ...] = (),
                here: str = here,
            ) -> None:
                found[kind].append(Slip(kind, f"{here}: {what}", after, lines, names))

            if step.kind in OPENING:
                for ref in step.through:
                    slip(
                        "ring dropped",
                        f"without '{ref}'",
                        RemoveRing(step, ref).apply(recipe),
                        line,
                        _names(ref),
                    )
                for edit in _adding(recipe, block, step):
                    slip(
                        "ring added",
                        f"also '{edit.new}'",
                        edit.apply(recipe),
                        line,
                        _names(edit.new),
                    )
                for edit in replacing[step.number]:
                    slip(
                        "ring replaced",
                        f"'{edit.new}' for '{edit.ref}'",
                        edit.apply(recipe),
                        line,
                        _names(edit.ref),
                    )
            if len(block.steps) > 1:
                lines = _block_lines(block, step)
                placed = tuple(i.name.role for i in step.new)
                slip("step dropped", "gone", DropStep(step).apply(recipe), lines, placed)
            twice = tuple(
                replace(
                    b,
                    steps=(
                        *b.steps[: at + 1],
                        replace(step, number=1000 + step.number),
                        *b.steps[at + 1 :],
                    ),
                )
                if b is block
                else b
                for b in recipe.blocks
            )
            slip("step doubled", "done twice", replace(recipe, blocks=twice), line)
            if at + 1 < len(block.steps):
                other = block.steps[at + 1]
                after = SwapSteps(step, other).apply(recipe)
                slip(
                    "neighbours swapped",
                    f"after step {other.number}",
                    after,
                    line | {other.span.line},
                )
            if step.lay is not None and isinstance(block.label, int):
                slip("lay left out", "no lay", with_step(recipe, replace(step, lay=None)), line)
                if step.lay.value in ("front", "back"):
                    side = "back" if step.lay.value == "front" else "front"
                    turned = replace(step, lay=replace(step.lay, value=side))
                    slip("lay flipped", f"lay {side}", with_step(recipe, turned), line)
            if step.picks is not None:
                for off in (-1, 1):
                    count = step.picks.number + off
                    picks = Stated(str(count), step.picks.span)
                    slip(
                        "count mistyped",
                        f"picks {count}",
                        with_step(recipe, replace(step, picks=picks)),
                        line,
                    )
    for kind in KINDS:
        some = found[kind]
        yield from some if rng is None or len(some) <= most else rng.sample(some, most)


def _moves(weave: Weave) -> Counter[tuple[object, ...]]:
    return Counter(
        (a.step.kind, *sorted(a.handled)) for a in weave.work.acts if a.step.kind not in LINKING
    )


def same_piece(before: Weave, after: Weave) -> bool:
    """True where a change leaves the piece what it was: links, lay and moves, ends included."""
    if after.snags or _moves(before) != _moves(after):
        return False
    one, two = before.repeat, after.repeat
    if one is not None and two is not None:
        alike = compare(before, after)
        if not alike.links or alike.lay not in ("none", "same"):
            return False
    else:
        sides = [
            Counter((a.step.number % 1000, a.side) for a in m.work.acts if a.owes_lay)
            for m in (before, after)
        ]
        if sides[0] != sides[1]:
            return False
    graphs = [ring_graph(m.work) for m in (before, after)]
    for graph, weave in zip(graphs, (before, after), strict=True):
        graph.add_edges_from(weave.work.held)
    if len(graphs[0]) != len(graphs[1]) or graphs[0].size() != graphs[1].size():
        return False
    if graphs[0].edges == graphs[1].edges:
        return True
    if _hash(graphs[0]) != _hash(graphs[1]):
        return False
    return bool(nx.vf2pp_is_isomorphic(graphs[0], graphs[1]))


def _hash(graph: nx.Graph) -> str:  # type: ignore[type-arg]
    nx.set_node_attributes(graph, {n: str(graph.degree(n)) for n in graph}, "links")
    return nx.weisfeiler_lehman_graph_hash(graph, node_attr="links")


def said(finding: Finding) -> str:
    """All the words of a finding."""
    labels = " ".join(x.text for x in finding.labels)
    return " ".join((finding.message, finding.here, labels, *finding.help))


def _counts_kept(weave: Weave) -> bool:
    """True where nothing that the recipe promises or states is broken."""
    return not off_counts(weave)


def judge(name: str, recipe: Recipe, slip: Slip, tally: Tally) -> None:
    """Check a recipe after a slip and enter what came of it."""
    tally.tried += 1
    title = f"{name}, {slip.where}"
    before, seen = View(recipe, ()), View(slip.recipe, ())
    errors = [f for f in findings_of(seen) if f.severity == "error"]
    stated = slip.kind in ("count mistyped", "lay left out") or (
        bool(errors) and all(f.rule.name == "pick-count" for f in errors)
    )
    if not stated and same_piece(before.weave, seen.weave):
        tally.same += 1
        if errors and slip.kind != "step doubled":
            tally.false_alarm.append(f"{title}: {errors[0].message}")
        return
    tally.real += 1
    if not errors:
        moves = _moves(before.weave) != _moves(seen.weave)
        reason = (
            "a handling move makes no link"
            if moves
            else "every promise is kept: another weave in its own right"
            if _counts_kept(seen.weave)
            else "?"
        )
        tally.untold.append((title, reason))
        return
    tally.caught += 1
    right = [f for f in errors if f.span.line in slip.lines]
    tally.line += bool(right)
    if not right:
        tally.wrong.append(f"{title}: line {errors[0].span.line}, {errors[0].message}")
    tally.named += any(n in said(f) for f in (right or errors) for n in slip.names)


def table(tallies: dict[str, Tally]) -> str:
    """The tallies as the table that is printed."""
    head = (
        "kind of slip",
        "tried",
        "same piece",
        "real",
        "caught",
        "right line",
        "ring named",
        "cannot be told",
    )
    lines = [f"{head[0]:<20}" + "".join(f"{h:>15}" for h in head[1:])]
    for kind in KINDS:
        t = tallies[kind]
        named = str(t.named) if kind.startswith("ring") or kind == "step dropped" else "-"
        cells = (t.tried, t.same, t.real, t.caught, t.line, named, len(t.untold))
        lines.append(f"{kind:<20}" + "".join(f"{c!s:>15}" for c in cells))
    return "\n".join(lines)


def random_recipe(rng: random.Random) -> str:
    """A right recipe that nobody wrote: roles at random, promises measured, lays where owed."""
    roles = [(r, rng.randint(1, 3)) for r in ("A", "B", "C")[: rng.randint(1, 3)]]
    unit: list[tuple[str, int, list[str]]] = []
    start: list[tuple[str, int, list[str]]] = []
    for at, (role, count) in enumerate(roles):
        own = [r for r, _ in rng.sample(roles[:at], rng.randint(1, at))] if at else []
        back = [f"prev {r}" for r, _ in rng.sample(roles, rng.randint(at == 0, min(2, len(roles))))]
        start.append((role, count, own))
        unit.append((role, count, own + back))

    def text(laid: set[int], promises: list[str]) -> str:
        lines = ['weave "random"', "rings:", "  all  wire 1 mm, inside 20 mm, copper", "expect:"]
        lines += promises or ["  1000 rings a unit"]
        number = 0
        for heading, steps in (("start:", start), ("unit:", unit)):
            lines.append(heading)
            for role, count, through in steps:
                number += 1
                rings = sum(dict(roles)[t.split()[-1]] for t in through)
                lay = " lay front" if number in laid else ""
                lines.append(
                    f"  add {count} {role} through {', '.join(through)} picks {rings}{lay}"
                    if through
                    else f"  close {count} {role}"
                )
        return "\n".join([*lines, "piece:", "  chain 20 units"])

    weave = View(read(text(set(), [])), ()).weave
    laid = {a.step.number for a in weave.work.acts if a.owes_lay}
    promises = [f"  {sum(n for _, n in roles)} rings a unit"]
    assert weave.repeat is not None
    for ring in weave.repeat.classes:
        met = sorted(weave.repeat.meets(ring).items())
        name = joined(ring.role, ring.index)
        told = ", ".join(f"{n} {r}" for r, n in met) if len(met) > 1 else sum(n for _, n in met)
        promises.append(f"  {name} meets {told}")
    return text(laid, promises)


def right_recipes(random_ones: int, seed: int = 7) -> dict[str, Recipe]:
    """Every shipped recipe, and so many at random, all of them clean."""
    library = Path(__file__).resolve().parent.parent / "library"
    texts = {p.stem: p.read_text(encoding="utf-8") for p in sorted(library.glob("*.weave"))}
    rng = random.Random(seed)
    number = 0
    while number < random_ones:
        text = random_recipe(rng)
        if not [f for f in findings_of(View(read(text), ())) if f.severity == "error"]:
            number += 1
            texts[f"random {number}"] = text
    return {name: read(text) for name, text in texts.items()}


def run(recipes: dict[str, Recipe], most: int = 10**9, seed: int | None = None) -> dict[str, Tally]:
    """Make the slips of all recipes and judge each."""
    tallies = {kind: Tally() for kind in KINDS}
    rng = None if seed is None else random.Random(seed)
    for name, recipe in recipes.items():
        for slip in slips(recipe, rng, most):
            judge(name, recipe, slip, tallies[slip.kind])
    return tallies


def main() -> None:
    """Print the whole table, what cannot be told, and what went to a wrong line."""
    tallies = run(right_recipes(40), seed=1, most=int(sys.argv[1]) if sys.argv[1:] else 10**9)
    print(table(tallies))
    for kind, tally in tallies.items():
        reasons = Counter(why for _, why in tally.untold)
        for why, count in reasons.items():
            some = [t for t, w in tally.untold if w == why][:6]
            print(f"\n{kind}, cannot be told ({count}): {why}\n  " + "\n  ".join(some))
        for word, items in (("wrong line", tally.wrong), ("false alarm", tally.false_alarm)):
            if items:
                print(f"\n{kind}, {word} ({len(items)}):\n  " + "\n  ".join(items[:8]))


if __name__ == "__main__":
    main()
