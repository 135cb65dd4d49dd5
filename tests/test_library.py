"""Every shipped weave against what is known of it from elsewhere.

The links are held against graphs that networkx builds by itself, never against our own output.
Layers of sheets (how many rings lie 0, 1, 2, … links away from one in the middle) are held against
the coordination sequences of the plane nets in the OEIS; since two different nets can share a
sequence, the neighbourhoods themselves are compared too.
"""

from __future__ import annotations

import re
from collections import Counter
from itertools import islice
from math import cos, hypot, pi, sin

import networkx as nx
import pytest
from helpers import EXAMPLES, findings, laid_out, read, shipped_recipes, view

from ringstep.language.tree import Tree
from ringstep.paper.steps_text import step_list
from ringstep.shop.tally import count_piece
from ringstep.weave.layout import lay_out
from ringstep.weave.repeats import period_of, smaller_unit
from ringstep.weave.ring_graph import pieces, ring_graph
from ringstep.weave.steps import carry_out
from ringstep.weave.work import Ring, Work

TEXTS = shipped_recipes()
RADIUS = 5
"""How many links out from the middle ring the sheets are compared."""

each_weave = pytest.mark.parametrize("name", TEXTS)


def recipe_of(name: str) -> Tree:
    recipe, troubles = read(TEXTS[name])
    assert not troubles
    return recipe


def made(name: str, rows: int = 0, units: int = 0, variant: str = "") -> Work:
    """A shipped weave made up in full; `rows` and `units` instead of the recipe's own."""
    recipe = recipe_of(name)
    layout = laid_out(recipe, units, rows)
    sides = next((v for v in recipe.variants if v.name == variant), None)
    work = carry_out(layout, sides)
    assert not work.snags
    return work


def links(graph: nx.Graph) -> set[frozenset]:
    return {frozenset(pair) for pair in graph.edges}


def in_order(work: Work) -> nx.Graph:
    """The rings numbered 0, 1, 2, … as they were placed."""
    return nx.convert_node_labels_to_integers(ring_graph(work))


def stacks(size: int, path: int) -> nx.Graph:
    """networkx's chain of stacks: a path with every place filled by rings that do not link."""
    product = nx.lexicographic_product(nx.path_graph(path), nx.empty_graph(size))
    return nx.relabel_nodes(product, {(i, j): i * size + j for i, j in product})


def without(graph: nx.Graph, role: str) -> nx.Graph:
    return graph.subgraph([r for r in graph if r.role != role])


# -- the files as a maker finds them ---------------------------------------------------------------


def test_there_are_weaves_to_check() -> None:
    assert len(TEXTS) >= 18


@each_weave
def test_checks_clean_without_even_a_note(name: str) -> None:
    found = findings(TEXTS[name])
    assert [f"{f.span.line}: {f.message}" for f in found] == []


@each_weave
def test_says_what_it_is_what_to_buy_and_where_that_comes_from(name: str) -> None:
    recipe = recipe_of(name)
    assert recipe.title
    topics = Counter(n.topic for n in recipe.notes)
    assert topics["about"] == 1
    assert topics["sizes"] >= 1
    assert topics["source"] == 1
    assert all(n.text for n in recipe.notes)


@each_weave
def test_every_step_is_taken_somewhere(name: str) -> None:
    work = view(TEXTS[name]).weave.work
    taken = {a.step.number for a in work.acts if not a.skipped}
    assert taken == {s.number for s in work.layout.recipe.steps()}


@each_weave
def test_every_step_through_rings_says_how_many(name: str) -> None:
    """And where nothing is left out at an edge, that is how many there are."""
    work = made(name, units=min(lay_out(recipe_of(name)).units, 12))
    adds = [a for a in work.acts if a.step.kind == "add"]
    assert adds
    for act in adds:
        assert act.step.picks is not None, act.step.number
        if not act.skipped and not act.dropped:
            assert act.step.picks.number == len(act.through)


@each_weave
def test_every_ring_of_the_unit_is_promised_its_neighbours(name: str) -> None:
    recipe = recipe_of(name)
    parts = {p.name.role for p in recipe.parts}
    unit = {
        item.name.role
        for block in recipe.blocks
        if block.kind in ("unit", "row")
        for step in block.steps
        for item in step.new
    }
    assert unit - parts <= {m.name.role for m in recipe.promises}
    assert len(recipe.unit_sizes) == (1 if unit else 0)


@each_weave
def test_the_rings_given_lie_in_the_working_range_given(name: str) -> None:
    seen = view(TEXTS[name])
    for given in seen.recipe.ranges:
        for role, indexes in seen.weave.names.items():
            if given.name is not None and given.name.role != role:
                continue
            kind = seen.weave.kind_of(role, indexes[0])
            assert kind is not None
            wire, inside = kind.mm
            assert wire is not None
            assert inside is not None
            assert float(given.low) <= inside / wire
            assert given.high is None or inside / wire <= float(given.high)
        # computed: `test_smallest_aspect_ratio` in tests/space/test_chain_forms.py, 5.6986
        computed = "computed with rigid round rings"
        assert given.origin == (computed if given.variant else "common practice no source")


def test_examples_are_clean_but_for_the_one_that_shows_the_checker() -> None:
    texts = {p.stem: p.read_text(encoding="utf-8") for p in EXAMPLES.glob("*.weave")}
    found = {n: [(f.rule.name, f.span.line) for f in findings(t)] for n, t in texts.items()}
    lines = texts["missed_ring"].splitlines()
    missed = 1 + lines.index("  add core 2 through prev side lay front")
    assert found == {
        "alternate_chain": [],
        "both_ways_bracelet": [],
        "three_festoons": [],
        "y_necklace": [],
        "clasp_chain": [],
        "diamond_pendant": [],
        "drop_earring": [],
        "heart_panel": [],
        "hexagon_plate": [],
        "lantern_ball": [],
        "thimble": [],
        "eight_petals": [],
        "gathered_loop": [],
        "graduated_strand": [],
        "strap_cuff": [],
        "striped_cuff": [],
        "sun_bracelet": [],
        "window_panel": [],
        "edged_chain": [],
        "cube_of_panels": [],
        "joined_strips": [],
        "rosettes_in_a_row": [],
        "missed_ring": [("neighbour-count", missed)],
    }


# -- chains ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["simple_chain", "chain_with_clasp"])
def test_simple_chain_is_a_path(name: str) -> None:
    graph = nx.Graph(ring_graph(made(name, units=12)))
    graph.remove_nodes_from([r for r in list(graph) if r.role in ("clasp", "tail")])
    assert links(nx.convert_node_labels_to_integers(graph)) == links(nx.path_graph(13))


def test_the_clasp_and_its_ring_are_at_the_ends() -> None:
    graph = ring_graph(made("chain_with_clasp", units=12))
    ends = {r.role for r in graph if graph.degree[r] == 1}
    assert ends == {"clasp", "tail"}
    assert nx.is_isomorphic(graph, nx.path_graph(15))


def test_a_gathered_loop_is_a_wheel() -> None:
    recipe = view((EXAMPLES / "gathered_loop.weave").read_text("utf-8")).recipe
    graph = ring_graph(carry_out(lay_out(recipe)))
    assert nx.is_isomorphic(nx.Graph(graph), nx.wheel_graph(13))


def test_half_of_the_alternate_chain_is_never_opened() -> None:
    """Its rings are a path; of a path one part of the two-colouring is half of the rings."""
    made_so = view((EXAMPLES / "alternate_chain.weave").read_text("utf-8"))
    graph = nx.Graph(ring_graph(made_so.weave.work))
    closed, opened = nx.bipartite.sets(graph)
    assert nx.is_isomorphic(graph, nx.path_graph(len(graph)))
    assert {r.role for r in closed} | {r.role for r in opened} == {"weld", "link"}
    assert len({r.role for r in closed}) == len({r.role for r in opened}) == 1
    counts = made_so.weave.counts
    assert (counts.opened.total(), counts.closed.total()) == (25, 25)
    assert {role for role, _ in counts.closed} == {"weld"}


def test_simple_loop_is_a_cycle() -> None:
    assert links(in_order(made("simple_loop", units=20))) == links(nx.cycle_graph(22))


@pytest.mark.parametrize(("name", "size"), [("doubled_chain", 2), ("tripled_chain", 3)])
def test_stacked_chains_are_a_path_times_unlinked_rings(name: str, size: int) -> None:
    assert links(in_order(made(name, units=12))) == links(stacks(size, 13))


@pytest.mark.parametrize(("name", "pairs"), [("byzantine", 3), ("box_chain", 2)])
def test_folded_chains_have_the_links_of_the_doubled_chain(name: str, pairs: int) -> None:
    folded = ring_graph(made(name, units=6))
    assert links(nx.convert_node_labels_to_integers(folded)) == links(stacks(2, 2 + 6 * pairs))
    doubled = ring_graph(made("doubled_chain", units=1 + 6 * pairs))
    assert nx.is_isomorphic(folded, doubled)


@pytest.mark.parametrize(("name", "pairs"), [("byzantine", 3), ("box_chain", 2)])
def test_only_the_folds_keep_a_folded_unit_from_being_a_smaller_one(name: str, pairs: int) -> None:
    seen = view(TEXTS[name])
    periods = period_of(seen.weave)
    assert periods is not None
    assert (periods.links, periods.piece) == (1, 1)
    assert smaller_unit(seen.weave) is None
    moves = ("fold", "spread")
    straight = [x for x in TEXTS[name].splitlines() if not x.strip().startswith(moves)]
    assert smaller_unit(view("\n".join(straight)).weave) == pairs


def test_a_byzantine_unit_has_three_pairs_and_one_fold() -> None:
    """Two pairs to begin with, then twenty units of six rings; a fold to each unit and one more."""
    work = made("byzantine")
    assert len(work.links) == 4 + 20 * 6
    assert sum(a.step.kind == "fold back" for a in work.acts) == 1 + 20
    assert Counter(d for _, d in ring_graph(work).degree) == {4: 120, 2: 4}


@pytest.mark.parametrize(("name", "reach"), [("spiral_4", 2), ("spiral_6", 3)])
def test_spirals_are_powers_of_a_path(name: str, reach: int) -> None:
    graph = in_order(made(name, units=20))
    assert links(graph) == links(nx.power(nx.path_graph(21), reach))
    # Layers of a path to the power k: 1, 2k, 2k, …
    layers = [len(x) for x in islice(nx.bfs_layers(graph, 10), 4)]
    assert layers == [1, 2 * reach, 2 * reach, 2 * reach]


def test_spiral_in_two_wires_is_the_same_spiral() -> None:
    graph = in_order(made("spiral_two_wires", units=10))
    assert links(graph) == links(nx.power(nx.path_graph(22), 2))


def test_spiral_loop_is_a_circulant_to_its_last_ring() -> None:
    graph = in_order(made("spiral_loop"))
    assert links(graph) == links(nx.circulant_graph(60, [1, 2]))


def flower(petals: int) -> str:
    """A flower of any size, written as the shipped ones are."""
    lines = ["close P1", "add P2 through P1 picks 1"]
    for n in range(3, petals + 1):
        others = ", ".join(f"P{k}" for k in range(1, n))
        lines.append(f"add P{n} through {others} picks {n - 1} lay front")
    return "rings:\n  all  wire 1 mm, inside 9 mm, brass\nstart:\n  " + "\n  ".join(lines)


@pytest.mark.parametrize("petals", range(2, 9))
def test_a_flower_links_every_petal_with_every_other(petals: int) -> None:
    work = carry_out(lay_out(view(flower(petals)).recipe))
    assert links(in_order(work)) == links(nx.complete_graph(petals))


def test_flower_of_five() -> None:
    assert links(in_order(made("flower_of_five"))) == links(nx.complete_graph(5))


def of_lines(text: str) -> list[tuple[str, ...]]:
    """Rings, how they are placed, links, what finished rings meet, kit: what a piece comes to."""
    seen = view(text)
    counts = count_piece(seen)
    lines = [(r.name, str(r.opened), str(r.closed)) for r in counts.rings]
    met = sorted((r, str(i), str(sorted(m.items()))) for r, i, m in seen.weave.neighbourhoods)
    ready = [(n.name, str(n.opened), str(n.closed)) for n in step_list(seen).needs]
    return [*sorted(lines), (str(counts.links),), *met, *ready]


@pytest.mark.parametrize("petals", range(2, 10))
def test_a_rosette_in_one_line_is_the_one_written_out(petals: int) -> None:
    """Handshakes: n(n-1)/2 links among n rings (https://oeis.org/A000217)."""
    out = flower(petals)
    lay = " lay front" if petals > 2 else ""
    line = f"add {petals} P through one another picks {petals - 1}{lay}"
    if petals == 2:
        out = out.replace(" lay front", "")
    one = out[: out.index("close P1")] + line
    assert not [f for f in findings(one) if f.rule.severity == "error"]
    work = carry_out(lay_out(view(one).recipe))
    assert links(in_order(work)) == links(nx.complete_graph(petals))
    assert count_piece(view(one)).links == petals * (petals - 1) // 2
    assert of_lines(one) == of_lines(out)


def test_shipped_flowers_in_one_line_are_the_same_weave() -> None:
    rest = r"\n[\s\S]*?(?=^\w+:|\Z)"
    for name, lines in (
        ("flower_of_five", ("close petal 1", "add 5 petal through one another picks 4")),
        ("flower_chain", ("close petal 1", "add 3 petal through one another picks 2",
                          "add petal 1 through connector picks 1",
                          "add 3 petal through connector, one another picks 3")),
    ):  # fmt: skip
        text = short = TEXTS[name]
        for begins, line in zip(lines[::2], lines[1::2], strict=True):
            short = re.sub(begins + rest, f"{line} lay front\n", short, count=1, flags=re.M)
        assert 2 * short.count("one another") == len(lines)
        assert not findings(short)
        assert links(in_order(view(short).weave.work)) == links(in_order(view(text).weave.work))
        assert of_lines(short) == of_lines(text)


def test_flower_chain_strings_whole_flowers_on_connectors() -> None:
    graph = ring_graph(made("flower_chain", units=6))
    groups: dict[tuple[str, int], set[Ring]] = {}
    for ring in graph:
        groups.setdefault((ring.role, ring.unit), set()).add(ring)
    assert len(groups) == 7 + 6
    for (role, _), rings in groups.items():
        size = 3 if role == "petal" else 1
        assert nx.is_isomorphic(graph.subgraph(rings), nx.complete_graph(size))
    assert nx.is_isomorphic(nx.quotient_graph(graph, list(groups.values())), nx.path_graph(13))
    # 3 links in each flower; each connector passes through two whole flowers
    assert graph.number_of_edges() == 7 * 3 + 6 * 6


def test_two_and_one_chain() -> None:
    graph = ring_graph(made("two_and_one", units=6))
    groups = {frozenset(r for r in graph if (r.role, r.unit) == (o.role, o.unit)) for o in graph}
    assert nx.is_isomorphic(nx.quotient_graph(graph, list(groups)), nx.path_graph(13))
    assert graph.number_of_edges() == 12 * 2


def test_linked_pairs_are_a_path_of_linked_pairs() -> None:
    """Every ring of a place with every ring of the next, and the two of a place together."""
    product = nx.lexicographic_product(nx.path_graph(9), nx.complete_graph(2))
    product = nx.relabel_nodes(product, {(i, j): 2 * i + j for i, j in product})
    assert links(in_order(made("linked_pairs", units=8))) == links(product)


def test_shaggy_chain_is_a_simple_chain_with_six_loose_rings_on_each_core() -> None:
    graph = ring_graph(made("shaggy", units=8))
    assert nx.is_tree(graph)
    assert nx.is_isomorphic(without(graph, "tuft"), nx.path_graph(9))
    tufts = [r for r in graph if r.role == "tuft"]
    assert len(tufts) == 6 * 8
    assert {graph.degree[r] for r in tufts} == {1}


# -- Persian chains --------------------------------------------------------------------------------


def persian(units: int, linked: bool) -> nx.Graph:
    """From networkx: middle and side pairs whose units are at most one apart, each doubled.

    A path whose places also neighbour themselves, times two sides, times two unlinked rings.
    """
    path = nx.path_graph(units + 1)
    path.add_edges_from((u, u) for u in list(path))
    once = nx.tensor_product(path, nx.complete_graph(2))
    twice = nx.lexicographic_product(once, nx.empty_graph(2))
    named = {p: Ring("MS"[p[0][1]], p[1] + 1, 1, p[0][0]) for p in twice}
    graph = nx.relabel_nodes(twice, named)
    if linked:
        graph.add_edges_from((Ring("M", 1, 1, u), Ring("M", 2, 1, u)) for u in range(units + 1))
    return graph


def test_persian_chain() -> None:
    graph = ring_graph(made("persian_6", units=8))
    assert not any(r.role == "H" for r in graph)  # the starters come out again
    assert links(graph) == links(persian(8, linked=False))
    inner = [r for r in graph if 1 <= r.unit <= 7]
    assert {graph.degree[r] for r in inner} == {6}


@pytest.mark.parametrize("variant", ["calm", "mirror", "zigzag"])
def test_persian_chain_with_linked_middle_pairs(variant: str) -> None:
    graph = ring_graph(made("persian_linked", units=8, variant=variant))
    assert links(without(graph, "H")) == links(persian(8, linked=True))
    degrees = {(r.role, graph.degree[r]) for r in graph if 1 <= r.unit <= 7}
    assert degrees == {("M", 7), ("S", 6)}


def test_linked_persian_steps_pick_up_two_three_four_and_four() -> None:
    work = made("persian_linked", variant="zigzag")
    picked = [(r, len(a.through)) for a in work.acts if a.unit == 5 for r in a.new]
    assert [(f"{r.role}{r.index}", n) for r, n in picked] == [
        ("M1", 2),
        ("M2", 3),
        ("S1", 4),
        ("S2", 4),
    ]


def test_linked_persian_links_repeat_every_unit_and_zigzag_every_two() -> None:
    told = {
        m.variant.name: (p.links, p.piece)
        for m in view(TEXTS["persian_linked"]).weaves
        if m.variant and (p := period_of(m))
    }
    assert told == {"calm": (1, 1), "mirror": (1, 1), "zigzag": (1, 2)}


def test_variants_lay_the_second_middle_ring_as_they_say() -> None:
    def lays(variant: str) -> list[str | None]:
        return [a.side for a in made("persian_linked", units=3, variant=variant).acts if a.owes_lay]

    assert lays("calm") == ["front"] * 4
    assert lays("mirror") == ["back"] * 4
    assert lays("zigzag") == ["front", "back"] * 2


def test_written_out_it_is_the_same_chain() -> None:
    short = made("persian_linked", units=6, variant="calm")
    written = made("persian_linked_written")
    assert links(ring_graph(written)) == links(ring_graph(short))
    sides = [[a.side for a in w.acts if a.owes_lay] for w in (short, written)]
    assert sides[0] == sides[1]


# -- captive rings, and lengths that geometry gives ------------------------------------------------


@pytest.mark.parametrize(("name", "doubling"), [("captive_ring", 1), ("doubled_chain_captive", 2)])
def test_captives_are_held_without_a_link_and_cannot_come_off(name: str, doubling: int) -> None:
    work = made(name, units=6)
    graph = ring_graph(work)
    captives = [r for r in graph if r.role == "captive"]
    assert len(captives) == 6
    assert {graph.degree[r] for r in captives} == {0}
    assert len(pieces(work)) == 1  # held rings belong to the piece
    rest = nx.convert_node_labels_to_integers(without(graph, "captive"))
    assert links(rest) == links(stacks(doubling, 13))

    small, large, captive = (sizes(name, role) for role in ("small", "large", "captive"))
    lying_together = hypot(small[1] + 2 * small[0], (doubling - 1) * 2 * small[0])
    assert lying_together <= captive[1]  # it slips over the small rings …
    assert captive[1] < large[1] + 2 * large[0]  # … and never over a large one


def sizes(name: str, role: str) -> tuple[float, float]:
    """Wire and inside diameter in mm."""
    kind = view(TEXTS[name]).weave.kind_of(role, 1)
    assert kind is not None
    wire, inside = kind.mm
    assert wire is not None
    assert inside is not None
    return wire, inside


def gap(one: tuple[float, float], other: tuple[float, float], apart: float) -> float:
    """Least distance between the middles of two wires, rings at right angles along a line.

    The distance from a point to a circle of radius R in a plane is the hypotenuse of its height
    over that plane and of R less its distance from the circle's axis (elementary).
    """
    r, other_r = (one[0] + one[1]) / 2, (other[0] + other[1]) / 2
    turns = (2 * pi * k / 7200 for k in range(7200))
    return min(hypot(abs(r * cos(t) - apart) - other_r, r * sin(t)) for t in turns)


SAMPLES = {
    "simple_chain": (("A", "A"),),
    "simple_loop": (("A", "A"),),
    "chain_with_clasp": (("A", "A"),),
    "shaggy": (("core", "core"),),
    "captive_ring": (("large", "small"), ("small", "large")),
}


def test_only_lengths_that_geometry_gives_are_shipped() -> None:
    sampled = {n for n in TEXTS if (p := recipe_of(n).piece) and p.sample}
    assert sampled == set(SAMPLES)


@pytest.mark.parametrize("name", SAMPLES)
def test_sample_lengths_are_those_of_rings_that_touch(name: str) -> None:
    """Pulled straight, each wire lies against the next: middles one wire apart, and no nearer."""
    piece = recipe_of(name).piece
    assert piece is not None
    assert piece.sample is not None
    units, length = piece.sample.units, piece.sample.size
    total = 0.0
    for one, other in SAMPLES[name]:
        a, b = sizes(name, one), sizes(name, other)
        apart = (a[1] + b[1]) / 2
        assert gap(a, b, apart) == pytest.approx((a[0] + b[0]) / 2, abs=1e-9)
        assert gap(a, b, apart * 1.01) < (a[0] + b[0]) / 2
        total += apart
    assert length.mm == pytest.approx(units * total)


def test_the_thin_ring_of_the_two_wire_spiral_fits_wherever_the_thick_one_does() -> None:
    thick, thin = (sizes("spiral_two_wires", role) for role in ("thick", "thin"))
    assert sum(thick) == pytest.approx(sum(thin))  # the same circle along the middle of the wire
    assert thin[0] < thick[0]


# -- sheets and tubes ------------------------------------------------------------------------------

WIDE = 2 * RADIUS + 9
"""Rows and units of an expansion: no walk of RADIUS links from the middle meets an edge."""


def layers(graph: nx.Graph, middle: object, count: int = RADIUS + 1) -> list[int]:
    return [len(layer) for layer in islice(nx.bfs_layers(graph, middle), count)]


SQUARE = [1, 4, 8, 12, 16, 20]  # OEIS A008574, coordination sequence of the square lattice
TRIANGULAR = [1, 6, 12, 18, 24, 30]  # OEIS A008458, of the triangular lattice
HONEYCOMB = [1, 3, 6, 9, 12, 15]  # OEIS A008486, of the honeycomb net
EUROPEAN_6 = [1, 6, 14, 22, 30, 38]  # counted by hand: 8n - 2


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("european_4", SQUARE),
        ("european_4_slanting", SQUARE),
        ("european_6", EUROPEAN_6),
        # every place of the square lattice twice; a ring's own twin is two links away
        ("european_8", [1, 8, 16 + 1, 24, 32, 40]),
    ],
)
def test_layers_of_european_sheets(name: str, expected: list[int]) -> None:
    graph = ring_graph(made(name, WIDE, WIDE))
    assert layers(graph, Ring("A", 1, WIDE // 2, WIDE // 2)) == expected


def test_slanting_european_sheet_is_a_cut_of_the_square_grid() -> None:
    """A step down the row counts along one side of the grid, a step along it counts along both."""
    graph = ring_graph(made("european_4_slanting"))
    placed = nx.relabel_nodes(graph, {r: (r.unit, r.unit + r.row) for r in graph})
    assert links(placed) == links(nx.grid_2d_graph(24, 24).subgraph(placed))


def half_rings(r: Ring) -> tuple[int, int]:
    """Row and place in half rings, in a sheet worked back and forth."""
    return r.row, 2 * r.unit + r.row % 2


def test_square_european_sheet_is_a_cut_of_the_square_grid_on_its_corner() -> None:
    """Rings of neighbouring rows half a ring apart: the tensor product of two paths."""
    graph = ring_graph(made("european_4"))
    placed = nx.relabel_nodes(graph, {r: half_rings(r) for r in graph})
    assert len(placed) == 10 * 12
    corner = nx.tensor_product(nx.path_graph(12), nx.path_graph(28))
    assert links(placed) == links(corner.subgraph(placed))


def test_european_6_sheet_joins_every_ring_to_three_below() -> None:
    """The tensor product of a path with a path whose places also neighbour themselves."""
    graph = ring_graph(made("european_6"))
    wide = nx.path_graph(range(1, 13))
    wide.add_edges_from((u, u) for u in list(wide))
    expected = nx.tensor_product(nx.path_graph(range(1, 9)), wide)
    assert links(nx.relabel_nodes(graph, {r: (r.row, r.unit) for r in graph})) == links(expected)


def test_doubled_european_sheet_is_the_single_one_with_every_ring_twice() -> None:
    single = ring_graph(made("european_4", 8, 10))
    doubled = ring_graph(made("european_8", 8, 10))
    expected = nx.lexicographic_product(single, nx.empty_graph(2))
    named = nx.relabel_nodes(expected, {p: p[0]._replace(index=p[1] + 1) for p in expected})
    assert links(doubled) == links(named)


def test_european_tube_is_the_square_grid_rolled_up() -> None:
    graph = ring_graph(made("european_tube", 7, 10))
    placed = nx.relabel_nodes(graph, {r: (r.row, (2 * r.unit + r.row) % 20) for r in graph})
    rolled = nx.tensor_product(nx.path_graph(range(1, 8)), nx.cycle_graph(20))
    assert len(placed) == 70
    assert links(placed) == links(rolled.subgraph(placed))


def test_european_strip_is_three_rows_of_the_sheet() -> None:
    """Middle rings between four side rings: the strip is a cut of the square grid on its corner."""
    graph = ring_graph(made("european_4_strip", units=9))

    def place(r: Ring) -> tuple[int, int]:
        return (0, 2 * r.unit - 1) if r.role == "middle" else (2 * r.index - 3, 2 * r.unit)

    placed = nx.relabel_nodes(graph, {r: place(r) for r in graph})
    corner = nx.tensor_product(nx.path_graph(range(-1, 2)), nx.path_graph(20))
    assert links(placed) == links(corner.subgraph(placed))


def flats(name: str, rows: int = 0, units: int = 0) -> nx.Graph:
    """Places of flat rings, joined where upright rings join them; a stack counts as one place.

    Every upright must join two places, and every joint must have as many uprights as a stack has
    flat rings.
    """
    graph = ring_graph(made(name, rows, units))
    stack = 2 if "doubled" in (recipe_of(name).title or "") else 1

    def place(r: Ring) -> tuple[int, ...]:
        return (r.row, r.unit) if stack > 1 else (r.row, r.unit, r.index)

    places = Counter(place(r) for r in graph if r.role == "flat")
    assert set(places.values()) == {stack}
    joints = Counter(frozenset(place(o) for o in graph[r]) for r in graph if r.role != "flat")
    assert set(joints.values()) == {stack}
    assert {len(j) for j in joints} == {2}
    assert graph.number_of_edges() == 2 * stack**2 * len(joints)
    found: nx.Graph = nx.Graph(tuple(j) for j in joints)
    found.add_nodes_from(places)
    return found


@pytest.mark.parametrize("name", ["japanese_square", "japanese_doubled"])
def test_square_japanese_sheets_contract_to_the_square_grid(name: str) -> None:
    found = flats(name)
    placed = nx.relabel_nodes(found, {p: (p[0] - 1, p[1] - 1) for p in found})
    assert links(placed) == links(nx.grid_2d_graph(6, 8))


@pytest.mark.parametrize("name", ["japanese_hexagonal", "japanese_12"])
def test_hexagonal_japanese_sheets_contract_to_the_triangular_lattice(name: str) -> None:
    expected = nx.triangular_lattice_graph(5, 14)
    assert len(expected) == 6 * 8
    assert nx.is_isomorphic(flats(name), expected)


@pytest.mark.parametrize(
    ("name", "index", "expected"),
    [
        ("japanese_square", (1,), SQUARE),
        ("japanese_doubled", (), SQUARE),
        ("japanese_hexagonal", (1,), TRIANGULAR),
        ("japanese_12", (), TRIANGULAR),
        ("japanese_honeycomb", (1,), HONEYCOMB),
        ("japanese_honeycomb", (2,), HONEYCOMB),
    ],
)
def test_layers_of_japanese_sheets(name: str, index: tuple[int, ...], expected: list[int]) -> None:
    middle = (WIDE // 2, WIDE // 2, *index)
    assert layers(flats(name, WIDE, WIDE), middle) == expected


def test_honeycomb_is_one_around_every_ring_and_not_another_net_with_its_layers() -> None:
    found = flats("japanese_honeycomb", WIDE, WIDE)
    net = nx.hexagonal_lattice_graph(10, 10)
    centre = next(p for p in sorted(net) if p[0] == 5 and p[1] == 10)
    for index in (1, 2):
        ours = nx.ego_graph(found, (WIDE // 2, WIDE // 2, index), RADIUS)
        assert nx.is_isomorphic(ours, nx.ego_graph(net, centre, RADIUS))


def test_japanese_tube_contracts_to_rings_of_places_one_above_the_other() -> None:
    """Upright rings go all the way round, the last of each row added at the row's end."""
    found = flats("japanese_tube")
    placed = nx.relabel_nodes(found, {p: (p[0] - 1, p[1] - 1) for p in found})
    expected = nx.cartesian_product(nx.path_graph(12), nx.cycle_graph(10))
    assert links(placed) == links(expected)


# Layers of a square grid rolled up, counted with a computer for these two widths: facts of the
# net, not of the weave (the endless path times a ring of four, and of six).
@pytest.mark.parametrize(
    ("around", "expected"), [(4, [1, 4, 7, 8, 8, 8]), (6, [1, 4, 8, 11, 12, 12])]
)
def test_layers_of_narrow_japanese_tubes(around: int, expected: list[int]) -> None:
    found = flats("japanese_tube", WIDE, around)
    assert layers(found, (WIDE // 2, 1, 1)) == expected
