"""The folded repeat against the same recipe written out ring by ring, and the proof by a window.

The long expansion is worked out here from the generator's own figures, without the parser, the
steps or the fold of the program.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass

import networkx as nx
import pytest
from helpers import (
    BYZANTINE,
    DOUBLED,
    EUROPEAN,
    FLOWERS,
    JAPANESE,
    PERSIAN,
    PERSIAN_LINKED,
    RECIPES,
    SHAGGY,
    SIMPLE,
    SPIRAL,
    TUBE,
    findings,
    laid_out,
    shipped_recipes,
    view,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from ringstep.weave import steps
from ringstep.weave.ring_graph import Class, Repeat, ring_graph
from ringstep.weave.steps import carry_out
from ringstep.weave.work import Ring

# -- made-up recipes ------------------------------

#: A ring of the long expansion: role, number, row, unit.
Spot = tuple[str, int, int, int]


@dataclass(frozen=True)
class MadeStep:
    """One step: `count` rings of a role, taken through rings of other roles (or its own).

    lists: for each list item the role, the rows up and the units back (negative: on).
    """

    role: str
    count: int
    lists: tuple[tuple[str, int, int], ...]


@dataclass(frozen=True)
class Made:
    """A made-up recipe: unit blocks that take turns, or one row block."""

    blocks: tuple[tuple[MadeStep, ...], ...]
    flat: bool
    back_and_forth: bool

    def text(self) -> str:
        """The recipe as it is typed."""
        lines = ['weave "Made up"', "rings:", "  all  wire 1 mm, inside 20 mm, copper"]
        for at, block in enumerate(self.blocks):
            label = "row:" if self.flat else "unit:" if len(self.blocks) == 1 else f"unit u{at}:"
            lines.append(label)
            for step in block:
                new = f"{step.count} {step.role}" if step.count > 1 else step.role
                items = [self._item(step, *item) for item in step.lists]
                verb = "add" if items else "close"
                tail = f" through {', '.join(items)} lay front" if items else ""
                lines.append(f"  {verb} {new}{tail}")
        lines.append("piece:")
        lines.append("  sheet 30 rows of 30 units" if self.flat else "  chain 300 units")
        if self.back_and_forth:
            lines.append("  rows back and forth")
        if len(self.blocks) > 1:
            lines.append("  order " + ", ".join(f"u{i}" for i in range(len(self.blocks))))
        return "\n".join(lines) + "\n"

    @staticmethod
    def _item(step: MadeStep, role: str, up: int, back: int) -> str:
        places = ["above"] * up + (["prev"] * back if back > 0 else ["next"] * -back)
        return " ".join((*places, role)) + (" if there" if places else "")

    def expansion(self, rows: int, units: int) -> nx.Graph:
        """Every ring and link of a piece of that size."""
        graph = nx.Graph()
        for row in range(1, rows + 1):
            way = -1 if self.back_and_forth and row % 2 == 0 else 1
            along = range(1, units + 1)[::way]
            for unit in along:
                block = self.blocks[(unit - 1) % len(self.blocks)]
                for step in block:
                    new = [(step.role, i, row, unit) for i in range(1, step.count + 1)]
                    graph.add_nodes_from(new)
                    for role, up, back in step.lists:
                        at = (row - up, unit - back * way)
                        if at[0] < 1 or not 1 <= at[1] <= units:
                            continue
                        size = self.size(role, at[1])
                        met = [(role, i, *at) for i in range(1, size + 1)]
                        graph.add_edges_from((a, b) for a in new for b in met)
        return graph

    def size(self, role: str, unit: int) -> int:
        """How many rings of a role stand in a unit."""
        block = self.blocks[(unit - 1) % len(self.blocks)]
        return next(step.count for step in block if step.role == role)


@st.composite
def chains(draw: st.DrawFn) -> Made:
    """Chains whose steps reach up to three units back, in one or two blocks by turns."""
    roles = ["A", "B", "C"][: draw(st.integers(1, 3))]
    sizes = {role: draw(st.integers(1, 2)) for role in roles}
    blocks = []
    for _ in range(draw(st.integers(1, 2))):
        block = []
        for at, role in enumerate(roles):
            bare = [(r, 0, 0) for r in roles[:at]]
            back = [(r, 0, n) for r in roles for n in (1, 2, 3)]
            items = draw(st.lists(st.sampled_from(bare + back), max_size=3, unique=True))
            block.append(MadeStep(role, sizes[role], tuple(items)))
        blocks.append(tuple(block))
    return Made(tuple(blocks), flat=False, back_and_forth=False)


@st.composite
def sheets(draw: st.DrawFn) -> Made:
    """Sheets whose steps reach up to two rows up and a unit or two to either side."""
    roles = ["A", "B"][: draw(st.integers(1, 2))]
    block = []
    for at, role in enumerate(roles):
        bare = [(r, 0, 0) for r in roles[:at]]
        back = [(r, 0, n) for r in roles for n in (1, 2)]
        above = [(r, up, n) for r in roles for up in (1, 2) for n in (-2, -1, 0, 1)]
        items = draw(st.lists(st.sampled_from(bare + back + above), max_size=3, unique=True))
        block.append(MadeStep(role, draw(st.integers(1, 2)), tuple(items)))
    return Made((tuple(block),), flat=True, back_and_forth=draw(st.booleans()))


def folded(made: Made) -> Repeat:
    """The repeat as the program folds it."""
    seen = view(made.text())
    assert [t.message for t in seen.troubles] == []
    assert seen.weave.snags == ()
    repeat = seen.weave.repeat
    assert repeat is not None
    return repeat


def class_of(repeat: Repeat, ring: Spot) -> Class:
    """The ring of the cycle that a ring of the piece is a copy of."""
    role, index, row, unit = ring
    return Class(
        role,
        index,
        (row - repeat.origin[0]) % repeat.cycle[0],
        (unit - repeat.origin[1]) % repeat.cycle[1],
    )


def met_in(repeat: Repeat, ring: Class) -> Counter[str]:
    """How many rings of each role a ring of the endless piece meets."""
    return Counter(other.role for other, _ in repeat.neighbours[ring])


def meets_at(repeat: Repeat, ring: Spot, graph: nx.Graph) -> Counter[tuple[Class, tuple[int, int]]]:
    """What a ring of the piece meets: rings of the cycle, and how many cycles on they stand."""

    def cycle_of(spot: Spot) -> tuple[int, int]:
        return (
            (spot[2] - repeat.origin[0]) // repeat.cycle[0],
            (spot[3] - repeat.origin[1]) // repeat.cycle[1],
        )

    here = cycle_of(ring)
    return Counter(
        (class_of(repeat, o), (cycle_of(o)[0] - here[0], cycle_of(o)[1] - here[1]))
        for o in graph[ring]
    )


def strands_of(graph: nx.Graph, middle: dict[int, set[Spot]]) -> int:
    """How many pieces an endless piece falls into, counted on a large one.

    Pieces that meet a band in its middle are counted for a narrow band and a wide one; where the
    wide band meets more, there is no end of them, told as 0.
    """
    parts = list(nx.connected_components(graph))
    counts = [sum(bool(part & band) for part in parts) for band in middle.values()]
    return counts[0] if counts[0] == counts[1] else 0


@given(chains())
@settings(max_examples=120)
def test_a_chain_folds_as_it_is_written_out(made: Made) -> None:
    repeat = folded(made)
    graph = made.expansion(1, 240)
    inner = [ring for ring in graph if 100 <= ring[3] < 100 + 2 * repeat.cycle[1]]
    for ring in inner:
        met = Counter(other[0] for other in graph[ring])
        assert met_in(repeat, class_of(repeat, ring)) == met, made.text()
        at = Counter(repeat.neighbours[class_of(repeat, ring)])
        assert at == meets_at(repeat, ring, graph), made.text()
    assert {class_of(repeat, ring) for ring in inner} == set(repeat.classes)
    bands = {w: {r for r in graph if 120 - w <= r[3] < 120 + w} for w in (12, 24)}
    assert repeat.strands() == strands_of(graph, bands), made.text()


@given(sheets())
@settings(max_examples=80)
def test_a_sheet_folds_as_it_is_written_out(made: Made) -> None:
    repeat = folded(made)
    graph = made.expansion(44, 44)
    inner = [r for r in graph if 20 <= r[2] < 24 and 20 <= r[3] < 24]
    for ring in inner:
        met = Counter(other[0] for other in graph[ring])
        assert met_in(repeat, class_of(repeat, ring)) == met, made.text()
        at = Counter(repeat.neighbours[class_of(repeat, ring)])
        assert at == meets_at(repeat, ring, graph), made.text()
    assert {class_of(repeat, ring) for ring in inner} == set(repeat.classes)
    bands = {
        w: {r for r in graph if 22 - w <= r[2] < 22 + w and 22 - w <= r[3] < 22 + w} for w in (5, 9)
    }
    assert repeat.strands() == strands_of(graph, bands), made.text()


@pytest.mark.parametrize(
    ("places", "strands"),
    [
        (["prev"], 1),
        (["prev prev"], 2),
        (["prev prev prev"], 3),
        (["prev prev prev prev", "prev prev prev prev prev prev"], 2),  # 4 and 6 share 2
        (["prev prev prev prev prev prev", "prev prev prev"], 3),
        (["prev prev", "prev prev prev"], 1),
    ],
)
def test_shifts_that_share_a_divisor_part_a_chain(places: list[str], strands: int) -> None:
    """As many strands as the greatest common divisor of the reaches."""
    items = ", ".join(f"{p} A if there" for p in places)
    text = SIMPLE.replace("start:\n  close A\n", "").replace("prev A", f"{items} lay front")
    repeat = view(text).weave.repeat
    assert repeat is not None
    assert repeat.strands() == strands


@pytest.mark.parametrize(
    ("items", "strands"),
    [
        ("above A, above next A", 1),  # (1, 0) and (1, 1): determinant 1
        ("above prev A, above next A", 2),  # (1, -1) and (1, 1): determinant 2
        ("above above A, above next A", 2),
        ("above above A, prev prev A", 4),
        ("above prev A, prev prev prev A", 3),
        ("above A", 0),  # one direction only: endlessly many
        ("above above A, above above next next A", 4),
        ("above above A, above above next next A, above next A", 2),
    ],
)
def test_shifts_of_a_sheet_part_it_by_the_index_of_their_lattice(items: str, strands: int) -> None:
    """The index of the lattice that the shifts span in the lattice of all (rows, units): the
    greatest common divisor of its 2-by-2 determinants."""
    listed = ", ".join(f"{p} if there" for p in items.split(", "))
    text = EUROPEAN.replace("above A, above next A if there", f"{listed} lay front")
    text = text.replace("first row:\n  close A\n", "").replace("  rows back and forth\n", "")
    repeat = view(text).weave.repeat
    assert repeat is not None
    assert repeat.strands() == strands


def test_rings_that_are_held_join_strands() -> None:
    text = SIMPLE.replace("start:\n  close A\n", "").replace(
        "add A through prev A", "add A through prev prev A if there\n"
        "  close C around A, prev A if there"
    )  # fmt: skip
    repeat = view(text).weave.repeat
    assert repeat is not None
    assert repeat.strands() == 1


# -- known answers ------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (SIMPLE, {"A": {"A": 2}}),
        (DOUBLED, {"A": {"A": 4}}),
        (BYZANTINE, {"A": {"B": 2, "C": 2}, "B": {"A": 2, "C": 2}, "C": {"A": 2, "B": 2}}),
        (SPIRAL, {"A": {"A": 4}}),
        (FLOWERS, {"P": {"P": 2, "k": 2}, "k": {"P": 6}}),
        (PERSIAN, {"M": {"S": 6}, "S": {"M": 6}}),
        (PERSIAN_LINKED, {"M": {"M": 1, "S": 6}, "S": {"M": 6}}),
        (SHAGGY, {"core": {"core": 2, "tuft": 6}, "tuft": {"core": 1}}),
        (EUROPEAN, {"A": {"A": 4}}),
        (TUBE, {"A": {"A": 4}}),
        (JAPANESE, {"flat": {"across": 2, "down": 2}, "across": {"flat": 2}, "down": {"flat": 2}}),
    ],
)
def test_finished_rings_meet_as_many_as_counted_by_hand(
    text: str, expected: dict[str, dict[str, int]]
) -> None:
    repeat = view(text).weave.repeat
    assert repeat is not None
    assert repeat.strands() == 1
    for ring in repeat.classes:
        assert dict(met_in(repeat, ring)) == expected[ring.role]


def expanded(text: str, units: int, rows: int = 1) -> nx.Graph:
    """The rings of a recipe over that many units."""
    seen = view(text)
    return ring_graph(carry_out(laid_out(seen.recipe, units, rows), seen.chosen))


def test_the_simple_chain_is_a_path() -> None:
    assert nx.is_isomorphic(expanded(SIMPLE, 20), nx.path_graph(21))


@pytest.mark.parametrize("text", [DOUBLED, BYZANTINE], ids=["doubled", "byzantine"])
def test_doubled_and_folded_chains_are_a_path_with_two_rings_for_one(text: str) -> None:
    """The lexicographic product of a path with two rings that do not link (networkx)."""
    graph = expanded(text, 6)
    path = nx.path_graph(graph.order() // 2)
    assert nx.is_isomorphic(graph, nx.lexicographic_product(path, nx.empty_graph(2)))


def test_the_spiral_is_the_square_of_a_path() -> None:
    assert nx.is_isomorphic(expanded(SPIRAL, 20), nx.power(nx.path_graph(21), 2))


def layers(graph: nx.Graph, middle: Ring, deep: int) -> list[int]:
    """How many rings are 0, 1, 2 … links away from a ring."""
    away = nx.single_source_shortest_path_length(graph, middle, cutoff=deep)
    return [Counter(away.values())[n] for n in range(deep + 1)]


def test_the_european_sheet_grows_by_four_a_layer() -> None:
    """The square lattice: 1, 4, 8, 12, … (OEIS A008574)."""
    graph = expanded(EUROPEAN, 30, 30)
    assert layers(graph, Ring("A", 1, 15, 15), 6) == [1, 4, 8, 12, 16, 20, 24]


def test_the_japanese_sheet_is_the_square_lattice_of_its_flat_rings() -> None:
    """Every upright ring stands for a link of two flat ones: 1, 4, 8, 12, … (OEIS A008574)."""
    graph = expanded(JAPANESE, 24, 24)
    away = nx.single_source_shortest_path_length(graph, Ring("flat", 1, 12, 12), cutoff=12)
    flat = Counter(n // 2 for ring, n in away.items() if ring.role == "flat")
    assert [flat[n] for n in range(7)] == [1, 4, 8, 12, 16, 20, 24]


def test_a_flower_is_the_complete_graph() -> None:
    """All n rings through one eye: K_n."""
    items = [f"  add P{i} through {', '.join(f'P{j}' for j in range(1, i))} picks {i - 1} lay front"
             for i in range(2, 7)]  # fmt: skip
    text = (
        'weave "Flower"\nrings:\n  all  wire 1 mm, inside 9 mm, brass\nexpect:\n  P meets 5\n'
        "start:\n  close P1\n" + "\n".join(items) + "\n"
    )
    assert findings(text) == ()
    assert nx.is_isomorphic(ring_graph(view(text).weave.work), nx.complete_graph(6))


# -- the window proves the piece ------------------------------

EVERY = {**RECIPES, **shipped_recipes()}
REPEATED = [n for n, t in EVERY.items() if view(t).weave.layout.repeats]


def made_of(text: str, units: int, rows: int | None = None) -> str:
    """The recipe with another number of units."""
    lines = text.split("\n")
    for at, line in enumerate(lines):
        words = line.split()
        if words[:1] in (["chain"], ["loop"]):
            lines[at] = f"  {words[0]} {units} units"
        elif words[:1] in (["sheet"], ["tube"]):
            lines[at] = f"  {words[0]} {rows or units} rows of {units} units"
    return "\n".join(lines)


def acts_of(text: str, monkeypatch: pytest.MonkeyPatch) -> tuple[int, list[tuple[object, ...]]]:
    """How many acts a whole check carries out, and what it finds."""
    done = Counter[str]()
    carry = steps._Bench.carry_out

    def counted(*args: object) -> None:
        done["acts"] += 1
        carry(*args)  # type: ignore[arg-type]

    with monkeypatch.context() as patched:
        patched.setattr(steps._Bench, "carry_out", counted)
        found = findings(text)
    return done["acts"], [(f.rule.name, f.span, f.help) for f in found]


@pytest.mark.parametrize("name", REPEATED)
def test_ten_units_and_ten_million_are_proved_by_the_same_window(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    sizes = (10, 11, 24, 10_000_000)
    done = {n: acts_of(made_of(EVERY[name], n), monkeypatch) for n in sizes}
    assert all(found == done[24][1] for _, found in done.values()), done
    layout = view(EVERY[name]).weave.layout
    again = acts_of(made_of(EVERY[name], 10_000_000 + layout.cycle * layout.row_cycle), monkeypatch)
    assert again == done[10_000_000], "a cycle more is not an act more"
    assert done[10_000_000][0] <= 3 * acts_of(made_of(EVERY[name], 40), monkeypatch)[0]


@pytest.mark.parametrize(
    "text",
    [
        SIMPLE.replace("meets 2", "meets 3"),
        PERSIAN.replace("S through M, prev M picks 4", "S through M, prev M1"),
        PERSIAN_LINKED.replace("prev S, M1 picks 3 lay varies\n  add 2 S through M, prev M",
                               "prev S lay varies\n  add 2 S through M, prev M"),
        EUROPEAN.replace("meets 4", "meets 5"),
        SPIRAL.replace(", prev prev A if there lay front", ""),
    ],
)  # fmt: skip
def test_a_fault_is_told_alike_at_every_length(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    done = [acts_of(made_of(text, n), monkeypatch) for n in (10, 11, 24, 1_000, 10_000_000)]
    assert done[0][1], "the fault is found"
    assert all(found == done[0][1] for _, found in done)
    assert done[3][0] == done[4][0] == done[2][0]


def test_the_longest_piece_holds_no_more_rings_in_its_window() -> None:
    sizes = [len(view(made_of(PERSIAN, n)).weave.work.links) for n in (24, 1_000, 10**9)]
    assert sizes[0] == sizes[1] == sizes[2] < 100


def test_folding_tells_the_step_of_every_link() -> None:
    repeat = view(PERSIAN_LINKED).weave.repeat
    assert repeat is not None
    by_step: dict[int, int] = defaultdict(int)
    for link in repeat.links:
        by_step[link.step] += 1
    # Two units a cycle: M1 through 2, M2 through 3, each of two S through 4.
    assert dict(by_step) == {7: 4, 8: 6, 9: 16}
