"""Slips over right recipes, what `check --json` says of each, and what its mends come to.

`python tests/slips.py [N]` makes every slip there is (or N of each kind, writer and recipe) and
prints the whole table; the tests make a fixed sample. Whether two recipes make the same piece is
asked of the piece carried out place by place: the same links, lays and moves, ring by ring.
"""

from __future__ import annotations

import random
import sys
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import networkx as nx

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).resolve().parents[1] / "recipe"), str(Path(__file__).parent)]

from forms import promised_in, units_of, written_out
from helpers import EXAMPLES, shipped_recipes
from second_opinion.recipes import recipe
from slips_made import KINDS, WRITERS, Slip, recipe_of, slips
from typed import Found, found_in, mends_of, typed_in

from ringstep.checks.pipeline import view_of
from ringstep.language.source import source_from_text
from ringstep.weave.likeness import compare
from ringstep.weave.piece import Weave
from ringstep.weave.ring_graph import ring_graph

#: A slip of these kinds is one even where every link is made.
ALWAYS = frozenset({"count mistyped", "step doubled", "move doubled", "picture mistyped"})
#: What a slip may be that nothing is said of.
UNTOLD = "every promise is kept: another weave in its own right"
BROKEN = "the program breaks off"


@dataclass
class Tally:
    """What came of slips.

    same: of these, how many make the same piece; real: the others. caught: with any new error or
    warning; line: with one, or a mend of one, on a right line; mended: with a mend that gives the
    recipe back.
    offered: mends typed in; back, ends, rival, alone, errors: those that gave the recipe back, the
    same weave with other ends, another weave clean beside one that gave it back, another weave
    clean and no other offered, and errors.
    """

    tried: int = 0
    same: int = 0
    real: int = 0
    caught: int = 0
    line: int = 0
    mended: int = 0
    offered: int = 0
    back: int = 0
    ends: int = 0
    rival: int = 0
    alone: int = 0
    errors: int = 0
    stories: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))

    def tell(self, what: str, slip: Slip, more: str = "") -> None:
        self.stories[what].append(f"{slip}{': ' if more else ''}{more}")


#: What makes a piece what it is: links, lays where they matter, moves.
Key = tuple[frozenset[object], frozenset[object], frozenset[object]]


@lru_cache(maxsize=64)
def carried_out(text: str) -> Weave:
    """The piece of a text, every place carried out."""
    seen = view_of(source_from_text(text))
    return Weave(seen.recipe, seen.chosen, whole=True)


@lru_cache(maxsize=64)
def key(text: str) -> Key | None:
    """What the piece of a text is; None where it cannot be worked."""
    if view_of(source_from_text(text)).troubles:
        return None
    weave = carried_out(text)
    if any(one.snags for one in (weave, *weave.made)):
        return None
    work = weave.work
    links = {frozenset((a, b)) for a, others in work.links.items() for b in others}
    lays = {(a.new, a.side) for a in work.acts if a.owes_lay}
    moves = Counter((a.step.kind, *sorted(a.handled)) for a in work.acts if a.handled)
    return frozenset(links | set(work.held)), frozenset(lays), frozenset(moves.items())


def alike(before: str, after: str) -> bool:
    """True where a change only swaps rings that are alike: links, lay and moves stay what they
    were under other names."""
    one, two = key(before), key(after)
    if one is None or two is None or [len(k) for k in one] != [len(k) for k in two]:
        return False
    weaves = [Weave(w.recipe, w.variant) for w in map(carried_out, (before, after))]
    if all(w.repeat is not None for w in weaves):
        found = compare(*weaves)
        if not found.links or found.lay not in ("none", "same"):
            return False
    elif {a.side for a in weaves[0].work.acts} != {a.side for a in weaves[1].work.acts}:
        return False
    graphs = [ring_graph(w.work) for w in weaves]
    for graph, weave in zip(graphs, weaves, strict=True):
        graph.add_edges_from(weave.work.held)
        moved: Counter[object] = Counter()
        for act in weave.work.acts:
            moved.update((ring, act.step.kind) for ring in act.handled)
        for ring in graph:
            told = sorted((k, n) for (r, k), n in moved.items() if r == ring)  # type: ignore[misc]
            graph.nodes[ring]["is"] = f"{graph.degree(ring)} {told}"
    if len(graphs[0]) != len(graphs[1]) or graphs[0].size() != graphs[1].size():
        return False
    hashes = {nx.weisfeiler_lehman_graph_hash(g, node_attr="is") for g in graphs}
    return len(hashes) == 1 and bool(nx.vf2pp_is_isomorphic(*graphs, node_label="is"))


def same_weave(before: str, after: str) -> bool:
    """True where two texts repeat the same links and lays without end; their ends may differ."""
    weaves = [Weave(w.recipe, w.variant) for w in map(carried_out, (before, after))]
    if any(w.repeat is None for w in weaves):
        return False
    found = compare(*weaves)
    return found.links and found.lay in ("none", "same")


@lru_cache(maxsize=256)
def grave(text: str) -> tuple[Found, ...]:
    """Errors and warnings."""
    return tuple(f for f in found_in(text) if f["severity"] != "note")


def new_in(text: str, before: str) -> list[Found]:
    """Errors and warnings of a text that are not said of another."""
    known = {(f["rule"], f["message"]) for f in grave(before)}
    return [f for f in grave(text) if (f["rule"], f["message"]) not in known]


def judge(slip: Slip, tally: Tally) -> None:
    """Enter what is said of a slip, and what its mends come to when they are typed in."""
    tally.tried += 1
    try:
        told = new_in(slip.text, slip.before)
    except Exception as fault:  # whatever the program breaks off with is a slip not told
        tally.real += 1
        tally.tell(BROKEN, slip, f"{type(fault).__name__}: {fault}")
        return
    if slip.kind not in ALWAYS and key(slip.text) is not None:
        same = key(slip.text) == key(slip.before)
        only_counts = {f["rule"] for f in told} <= {"pick-count"}
        if (same and only_counts) or (not told and alike(slip.before, slip.text)):
            tally.same += 1
            return
        if same:
            tally.same += 1
            tally.tell("false alarm", slip, told[0]["message"])
            return
    tally.real += 1
    if not told:
        tally.tell("nothing is said" if counts_off(slip.text) else UNTOLD, slip)
        return
    tally.caught += 1
    places = {f["line"] for f in told}
    places |= {e["line"] for mend in mends_of(told) for e in mend["edits"]}
    if places & slip.lines:
        tally.line += 1
    else:
        tally.tell("wrong line", slip, f"line {told[0]['line']}, {told[0]['message']}")
    mends(slip, told, tally)


def counts_off(text: str) -> bool:
    """True where a step does not pick up as many rings as it says, or a finished ring meets more or
    fewer than it is promised."""
    weave, lines = carried_out(text), text.splitlines()
    for act in weave.work.acts:
        picks = act.step.picks
        if picks and not act.skipped and not act.dropped and len(act.through) != picks.number:
            return True
    for ring in weave.finished:
        promise = weave.promise(ring.role, ring.index)
        if promise and len(weave.work.links[ring]) not in promised_in(lines[promise.span.line - 1]):
            return True
    return False


def mends(slip: Slip, told: list[Found], tally: Tally) -> None:
    """Type in every mend that is offered, each into the text with the slip."""
    others = []
    back = False
    for mend in mends_of(told):
        tally.offered += 1
        after = typed_in(slip.text, mend["edits"])
        left = new_in(after, slip.before)
        if left:
            tally.errors += 1
            tally.tell("mend leaves errors", slip, f"{mend['says']} -> {left[0]['message']}")
        elif key(after) == key(slip.before) or alike(slip.before, after):
            tally.back += 1
            back = True
        elif same_weave(slip.before, after):
            tally.ends += 1
        else:
            others.append(mend["says"])
    tally.mended += back
    if not back:
        tally.tell("not mended", slip, told[0]["message"])
    if back:
        tally.rival += len(others)
    else:
        tally.alone += len(others)
        for says in others:
            tally.tell("another weave alone", slip, says)


HEADS = ("tried", "same", "real", "caught", "line", "mended",
         "offered", "back", "ends", "rival", "alone", "errors")  # fmt: skip

Tallies = dict[tuple[str, str], Tally]


def table(tallies: Tallies) -> str:
    """The tallies as the table that is printed, and shares of what is real."""
    lines = [f"{'kind of slip':<37}" + "".join(f"{h:>8}" for h in HEADS)]
    for kind in KINDS:
        for writer in WRITERS:
            tally = tallies.get((kind, writer))
            if tally and tally.tried:
                numbers = "".join(f"{getattr(tally, h):>8}" for h in HEADS)
                lines.append(f"{f'{kind}, {writer}':<37}{numbers}")
    total = {h: sum(getattr(t, h) for t in tallies.values()) for h in HEADS}
    lines.append(f"{'all':<37}" + "".join(f"{total[h]:>8}" for h in HEADS))
    return "\n".join(lines)


def valid(text: str) -> bool:
    """True where a recipe promises something for each of its rings and keeps it."""
    names = recipe_of(text).meets
    placed = {role for b in recipe_of(text).blocks for role in b.placed}
    return not grave(text) and placed <= {m.name.role for m in names if m.name.index is None}


def random_recipes(count: int) -> dict[str, str]:
    """So many right recipes that nobody wrote, small enough to be carried out whole."""
    found: dict[str, str] = {}
    seed = 0
    while len(found) < count:
        text = recipe(random.Random(f"slip {seed}"), 120, strands_too=False).text
        seed += 1
        if valid(text):
            found[f"random {seed - 1}"] = text
    return found


def right_recipes(random_ones: int) -> dict[str, str]:
    """The shipped recipes and examples, some of them written out, and so many at random."""
    texts = shipped_recipes()
    texts |= {p.stem: p.read_text("utf-8") for p in sorted(EXAMPLES.glob("*.weave"))}
    del texts["missed_ring"]
    for name in ("byzantine", "spiral_4", "persian_6", "linked_pairs", "two_and_one"):
        text = written_out(texts[name], 5)
        assert text is not None
        assert units_of(text) == 5
        texts[f"{name}, written out"] = text
    return texts | random_recipes(random_ones)


def run(recipes: dict[str, str], most: int | None = None, seed: int = 1) -> Tallies:
    """Make the slips of all recipes and judge each."""
    tallies: Tallies = defaultdict(Tally)
    rng = None if most is None else random.Random(seed)
    for name, text in recipes.items():
        for slip in slips(name, text, most, rng):
            judge(slip, tallies[slip.kind, slip.writer])
    return tallies


def summed(tallies: Tallies, kind: str) -> Tally:
    """The tally of one kind, all writers together."""
    found = Tally()
    for (one, _), tally in tallies.items():
        if one == kind:
            for head in HEADS:
                setattr(found, head, getattr(found, head) + getattr(tally, head))
            for what, told in tally.stories.items():
                found.stories[what] += told
    return found


def main() -> None:
    """Print the whole table, and some of what did not come out as it should."""
    tallies = run(right_recipes(40), int(sys.argv[1]) if sys.argv[1:] else None)
    print(table(tallies))
    for kind in KINDS:
        for what, told in summed(tallies, kind).stories.items():
            some = told if len(told) <= 8 else random.Random(3).sample(told, 8)
            print(f"\n{kind}, {what} ({len(told)}):\n  " + "\n  ".join(some))


if __name__ == "__main__":
    main()
