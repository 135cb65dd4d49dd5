"""Whether two weaves are alike, against networkx on finite rings and against known answers."""

from __future__ import annotations

from itertools import combinations

import networkx as nx
import pytest
from helpers import view
from hypothesis import given, settings
from hypothesis import strategies as st

from ringstep.commands.cli import main
from ringstep.language.shipped import shipped_weaves
from ringstep.weave.likeness import Likeness, compare, likeness_words
from ringstep.weave.piece import Weave
from ringstep.weave.ring_graph import Repeat


def shipped(name: str, variant: str | None = None) -> Weave:
    seen = view(shipped_weaves()[name].read_text(encoding="utf-8"))
    if variant is None:
        return seen.weave
    return next(m for m in seen.weaves if m.variant and m.variant.name == variant)


# design: folded and doubled chain have the same links, only the folds differ; the sheet worked all
# one way and the one worked back and forth are the same inside; a flower is none of them.
@pytest.mark.parametrize(
    ("one", "other", "lay", "moves"),
    [
        ("byzantine", "doubled_chain", "none", False),
        ("european_4", "european_4_slanting", "none", True),
        ("european_4", "european_tube", "none", True),
        ("spiral_4", "spiral_loop", "same", True),
        ("persian_linked_written", "persian_linked_written", "same", True),
    ],
)
def test_the_same_links(one: str, other: str, lay: str, moves: bool) -> None:
    for a, b in ((one, other), (other, one)):
        found = compare(shipped(a), shipped(b))
        assert (found.links, found.lay, found.moves) == (True, lay, moves)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("simple_chain", "doubled_chain"),
        ("spiral_4", "doubled_chain"),  # 4 links each; only one has three rings linked in a circle
        ("spiral_4", "european_4"),
        ("european_4", "japanese_square"),
        ("persian_6", "tripled_chain"),  # 6 links each
        ("european_6", "japanese_hexagonal"),
    ],
)
def test_not_the_same_links(one: str, other: str) -> None:
    assert not compare(shipped(one), shipped(other)).links
    assert not compare(shipped(other), shipped(one)).links


def test_lays_of_the_linked_persian() -> None:
    lays = {
        (a, b): compare(shipped("persian_linked", a), shipped("persian_linked", b)).lay
        for a in ("calm", "mirror", "zigzag")
        for b in ("calm", "mirror", "zigzag")
    }
    assert lays == {
        ("calm", "calm"): "same", ("mirror", "mirror"): "same", ("zigzag", "zigzag"): "same",
        ("calm", "mirror"): "mirror", ("mirror", "calm"): "mirror",
        ("calm", "zigzag"): "other", ("zigzag", "calm"): "other",
        ("mirror", "zigzag"): "other", ("zigzag", "mirror"): "other",
    }  # fmt: skip


def test_written_out_is_the_same_as_repeated() -> None:
    written = shipped("persian_linked_written")
    assert compare(written, shipped("persian_linked", "calm")) == Likeness(True, "same", True)


CHAIN = """weave "c"
rings:
  all  wire 1 mm, inside 20 mm, copper
expect:
  A meets 1000
unit:
  add A through {}
piece:
  chain 30 units
"""


def power(*reaches: int) -> Weave:
    """The chain in which each ring goes through those so many before it."""
    return view(CHAIN.format(", ".join("prev " * r + "A if there" for r in reaches))).weave


def ring_of(weave: Weave, size: int) -> nx.Graph:  # type: ignore[type-arg]
    """The links closed to a circle of so many cycles: what networkx can compare."""
    repeat = weave.repeat
    assert isinstance(repeat, Repeat)
    graph = nx.Graph()
    for a, b, (_, units), _ in repeat.links:
        graph.add_edges_from(((a, i), (b, (i + units) % size)) for i in range(size))
    return graph


@pytest.mark.parametrize(("one", "other"), list(combinations([(1, 2), (1, 3), (2, 3), (1, 4)], 2)))
def test_chains_by_reach_against_circulant_graphs(
    one: tuple[int, ...], other: tuple[int, ...]
) -> None:
    """Reference: networkx.circulant_graph(61, …) and its isomorphism test."""
    mine = [power(*one), power(*other)]
    for weave, reaches in zip(mine, (one, other), strict=True):
        assert nx.is_isomorphic(ring_of(weave, 61), nx.circulant_graph(61, reaches))
    finite = nx.is_isomorphic(nx.circulant_graph(61, one), nx.circulant_graph(61, other))
    assert compare(*mine).links is False
    # What is the same as an endless chain is the same on every circle, not the other way round.
    assert not compare(*mine).links or finite


def test_not_fooled_by_a_finite_sample() -> None:
    """On a circle of 5 rings both are the complete graph; as endless chains they differ."""
    one, other = power(1, 2), power(2, 4)
    assert nx.is_isomorphic(ring_of(one, 5), ring_of(other, 5))
    assert not compare(one, other).links


UNIT = """weave "d"
rings:
  all  wire 1 mm, inside 20 mm, copper
expect:
  A meets 1000
unit:
{}
piece:
  chain 30 units
"""


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.lists(st.integers(1, 5), min_size=1, max_size=3, unique=True), st.integers(2, 3))
def test_a_unit_written_several_times_over_is_the_same(reaches: list[int], times: int) -> None:
    """The same chain cut into longer units with other names."""
    names = "PQR"[:times]
    steps = []
    for at, name in enumerate(names):
        back = [divmod(at - r, times) for r in reaches]
        items = ["prev " * -unit + names[k] + " if there" for unit, k in back]
        steps.append(f"  add {name} through {', '.join(items)}")
    longer = view(UNIT.format("\n".join(steps))).weave
    assert compare(power(*reaches), longer).links
    other = [r + 1 for r in reaches]
    finite = nx.is_isomorphic(nx.circulant_graph(97, reaches), nx.circulant_graph(97, other))
    assert compare(power(*other), longer).links <= finite


def test_words_never_say_is() -> None:
    for links in (True, False):
        for lay in ("same", "mirror", "other", "none"):
            for moves in (True, False):
                said = likeness_words(Likeness(links, lay, moves))  # type: ignore[arg-type]
                assert "the same links" in said
                assert ("not the same" in said) != links


def test_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    paths = {n: str(p) for n, p in shipped_weaves().items()}
    assert main(["alike", paths["byzantine"], paths["doubled_chain"]]) == 0
    assert "the same links; the folds differ" in capsys.readouterr().out
    assert main(["alike", paths["byzantine"], paths["european_4"]]) == 1
    assert "not the same links: one is worked in rows" in capsys.readouterr().out
    assert main(["alike", paths["spiral_loop"]]) == 0
    said = capsys.readouterr().out
    assert "spiral_4: the same links, laid the same way" in said
    assert "doubled_chain" not in said
