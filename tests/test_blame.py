"""The measure of the checker: take a right recipe, make one slip, and see that it is caught.

Slips are made in the text, with nothing but the line they change: a list item left out, one ring of
a role left out, each with the stated count as it was and (in repeating blocks) without it. Every
slip must be an error on the line of the step that was changed. Only a slip that makes the very same
piece is no slip: its links are isomorphic, role for role, on the whole window (networkx decides).
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache

import networkx as nx
import pytest
from helpers import RECIPES, findings, shipped_recipes, view

from ringstep.checks import blame
from ringstep.checks.edits import with_step
from ringstep.checks.view import View
from ringstep.language.findings import Finding
from ringstep.language.syntax import Ref, Step, joined
from ringstep.weave.layout import lay_out
from ringstep.weave.phrases import place_phrase
from ringstep.weave.ring_graph import ring_graph
from ringstep.weave.steps import carry_out

SHIPPED = shipped_recipes()
_TITLES = {text.strip().split("\n")[0] for text in SHIPPED.values()}
#: Everything that is shipped, and what is written here under a title of its own.
ALL = {**{k: v for k, v in RECIPES.items() if v.split("\n")[0] not in _TITLES}, **SHIPPED}

#: The list behind 'through', up to the next word of the language or the end of the line.
LIST = re.compile(
    r"\s+through\s+(?P<list>.+?)(?=\s+(?:around|inside|picks|lay|skip)\b|\s*#|\s*$)", re.I
)
PICKS = re.compile(r"\s+picks\s+\d+\b", re.I)
REPEATING = ("unit", "row", "again")


@dataclass(frozen=True)
class Slip:
    """One slip.

    what: what was done to the text, in a few words.
    line: the line changed. names: what was left out, as it may be named in a mend: the typed item
    and the spoken one. counted: True where the stated count stands as it was.
    """

    recipe: str
    what: str
    line: int
    names: tuple[str, ...]
    text: str
    counted: bool

    def __str__(self) -> str:
        count = "as counted" if self.counted else "uncounted"
        return f"{self.recipe}, line {self.line}: {self.what}, {count}"


def _names(ref: Ref, index: int | None) -> tuple[str, ...]:
    """How a mend may name what was left out: typed or spoken."""
    name = ref.name.role if index is None else joined(ref.name.role, index)
    typed = " ".join((*ref.places, name))
    return tuple(dict.fromkeys((typed, f"{name} {place_phrase(ref.places)}".strip())))


def _rings_of(seen: View, step: Step, ref: Ref) -> tuple[int, ...]:
    """The numbers of the rings that one list item stands for, read off the recipe carried out
    with nothing but that item in the list."""
    alone = with_step(seen.recipe, replace(step, through=(ref,)))
    work = carry_out(lay_out(alone).window(), seen.chosen)
    found: dict[int, None] = {}
    for act in work.acts:
        if act.step.number == step.number:
            found |= {ring.index: None for ring in act.through}
    return tuple(found)


def _changed(text: str, line: int, items: list[str], counted: bool) -> str:
    lines = text.split("\n")
    old = lines[line - 1]
    found = LIST.search(old)
    assert found is not None
    if items:
        new = old[: found.start("list")] + ", ".join(items) + old[found.end("list") :]
    else:
        new = old[: found.start()] + old[found.end("list") :]
    lines[line - 1] = new if counted else PICKS.sub("", new)
    return "\n".join(lines)


def slips(name: str, text: str) -> Iterator[Slip]:
    """Every list item left out of every step, and every single ring of a role."""
    seen = view(text)
    lines = text.split("\n")
    for block in seen.recipe.blocks:
        for step in block.steps:
            if not step.through:
                continue
            line = step.span.line
            found = LIST.search(lines[line - 1])
            assert found is not None, lines[line - 1]
            items = [item.strip() for item in re.split(r",| then ", found["list"])]
            assert len(items) == len(step.through)
            left: list[tuple[str, tuple[str, ...], list[str]]] = []
            for at, ref in enumerate(step.through):
                rest = [*items[:at], *items[at + 1 :]]
                left.append((f"without '{items[at]}'", _names(ref, ref.name.index), rest))
                rings = _rings_of(seen, step, ref) if ref.name.index is None else ()
                for gone in rings if len(rings) > 1 else ():
                    there = " if there" if ref.if_there else ""
                    kept = [
                        " ".join((*ref.places, joined(ref.name.role, i))) + there
                        for i in rings
                        if i != gone
                    ]
                    whole = _names(ref, None)
                    left.append(
                        (
                            f"{joined(ref.name.role, gone)} left out of '{items[at]}'",
                            (*_names(ref, gone), *whole),
                            [*items[:at], *kept, *items[at + 1 :]],
                        )
                    )
            for counted in (True, False) if step.picks and block.kind in REPEATING else (True,):
                for what, names, rest in left:
                    yield Slip(
                        name, what, line, names, _changed(text, line, rest, counted), counted
                    )


def said(finding: Finding) -> str:
    """Everything a finding says in words."""
    return "\n".join(
        (finding.message, finding.here, *finding.help, *(label.text for label in finding.labels))
    )


def names_it(finding: Finding, names: tuple[str, ...]) -> bool:
    """True where message or help names what was left out: typed or spoken, place and all."""
    text = "\n".join((finding.message, *finding.help))
    for name in names:
        places, _, _ = name.rpartition(" ")
        for found in re.finditer(rf"(?<![\w]){re.escape(name)}(?!\w)", text):
            before = text[: found.start()].rstrip().rpartition(" ")[2].strip("'")
            after = text[found.end() :]
            if before in ("prev", "next", "above", "first", "last"):
                continue  # the same name, in another place
            if not places and re.match(r" of the (unit|next|row|last|first)", after):
                continue
            return True
    return False


def window(text: str) -> nx.Graph:
    """The rings and links of a recipe's window, each ring with its role."""
    seen = view(text)
    graph = ring_graph(seen.weave.work)
    nx.set_node_attributes(graph, {ring: ring.role for ring in graph}, "role")
    return graph


@cache
def same_piece(text: str, other: str) -> bool:
    """True where two recipes make the same links, role for role."""
    a, b = window(text), window(other)
    if nx.weisfeiler_lehman_graph_hash(a, node_attr="role", iterations=6) != (
        nx.weisfeiler_lehman_graph_hash(b, node_attr="role", iterations=6)
    ):
        return False
    match = nx.algorithms.isomorphism.categorical_node_match("role", None)
    return nx.is_isomorphic(a, b, node_match=match)


#: Figures for the summary, by the kind of slip.
FIGURES: dict[str, Counter[str]] = defaultdict(Counter)
_COLUMNS = (
    "tried", "caught", "right line", "nothing else", "ring named", "mend mends", "same piece"
)  # fmt: skip


def figure_lines() -> list[str]:
    """The figures as a small table; empty where no slip was made."""
    if not FIGURES:
        return []
    lines = [f"{'':<28}" + "".join(f"{c:>14}" for c in _COLUMNS)]
    for kind, got in FIGURES.items():
        lines.append(f"{kind:<28}" + "".join(f"{got.get(c, '-'):>14}" for c in _COLUMNS))
    return lines


def _mended(finding: Finding, slip: Slip, text: str) -> bool:
    """True where the list that the help says to write, once typed, gives the first piece again."""
    for line in finding.help:
        for found in re.finditer(r"'through ([^']+)'", line):
            items = [item.strip() for item in found[1].split(",")]
            lines = slip.text.split("\n")
            old = lines[slip.line - 1]
            if LIST.search(old):
                typed = _changed(slip.text, slip.line, items, True)
            else:
                listed = rf" through {found[1]}\1"
                new = re.sub(r"( picks | lay | skip |\s*$)", listed, old, count=1)
                typed = "\n".join((*lines[: slip.line - 1], new, *lines[slip.line :]))
            if not any(f.severity == "error" for f in findings(typed)) and same_piece(text, typed):
                return True
    return False


def _try(slip: Slip, text: str, figures: Counter[str]) -> str:
    """Check one slip and count how it was told; what is wrong with that, or nothing."""
    errors = [f for f in findings(slip.text) if f.severity == "error"]
    if not errors and same_piece(text, slip.text):
        figures["same piece"] += 1
        return ""
    on_line = [f for f in errors if f.span.line == slip.line]
    figures["tried"] += 1
    figures["caught"] += bool(errors)
    if slip.line:
        figures["right line"] += bool(on_line)
        figures["nothing else"] += len(errors) == len(on_line) == 1
    if slip.names:
        figures["ring named"] += any(names_it(f, slip.names) for f in on_line)
        figures["mend mends"] += any(_mended(f, slip, text) for f in on_line)
    if on_line or (errors and not slip.line):
        return ""
    told = "; ".join(f"line {f.span.line}: {f.message}" for f in errors)
    return f"{slip}: {told or 'nothing said'}"


@pytest.mark.parametrize("name", ALL)
def test_every_ring_left_out_is_an_error_on_its_line(name: str) -> None:
    made = list(slips(name, ALL[name]))
    assert made, "no step of this recipe goes through a ring"
    wrong = []
    for slip in made:
        kind = "a ring left out, counted" if slip.counted else "a ring left out, uncounted"
        wrong.append(_try(slip, ALL[name], FIGURES[kind]))
    assert not any(wrong), "\n".join(filter(None, wrong))


def extra_rings(name: str, text: str) -> Iterator[Slip]:
    """One ring too many in a list: a role of this unit or of the one before that is not in it."""
    seen = view(text)
    lines = text.split("\n")
    for block in seen.recipe.blocks:
        if block.kind not in REPEATING:
            continue
        before: list[str] = []
        placed = list(dict.fromkeys(i.name.role for s in block.steps for i in s.new))
        back = "above" if block.kind in ("row", "again") else "prev"
        for step in block.steps:
            have = {(r.places, r.name.role) for r in step.through}
            found = LIST.search(lines[step.span.line - 1])
            if found is not None:
                items = [item.strip() for item in re.split(r",| then ", found["list"])]
                extra = [((), role) for role in before] + [((back,), role) for role in placed]
                for places, role in extra:
                    if (places, role) in have:
                        continue
                    item = " ".join((*places, role)) + (" if there" if places else "")
                    changed = _changed(text, step.span.line, [*items, item], False)
                    yield Slip(name, f"'{item}' too many", step.span.line, (), changed, False)
            own = {i.name.role for i in step.new}
            before = [*before, *(r for r in sorted(own) if r not in before)]


def dropped_steps(name: str, text: str) -> Iterator[Slip]:
    """A step that places a ring left out whole; it has no line to be told on."""
    lines = text.split("\n")
    for step in view(text).recipe.steps():
        if step.kind in ("add", "close"):
            at = step.span.line - 1
            end = at + 1
            while end < len(lines) and lines[end].strip().startswith("hint "):
                end += 1
            changed = "\n".join((*lines[:at], *lines[end:]))
            yield Slip(name, f"line {at + 1} left out", 0, (), changed, True)


def swapped_names(name: str, text: str) -> Iterator[Slip]:
    """Two roles of one step's list and its new ring changed about."""
    lines = text.split("\n")
    for step in view(text).recipe.steps():
        roles = {r.name.role for r in step.through} | {i.name.role for i in step.new}
        if step.through and len(roles) == 2:
            a, b = sorted(roles)
            words = re.split(r"(\W+)", lines[step.span.line - 1])
            swap = {a: b, b: a}
            new = []
            for word in words:
                role = re.sub(r"\d+\Z", "", word)
                new.append(swap[role] + word[len(role) :] if role in swap else word)
            changed = [*lines]
            changed[step.span.line - 1] = "".join(new)
            yield Slip(name, f"{a} and {b} swapped", 0, (), "\n".join(changed), True)


@pytest.mark.parametrize("name", ALL)
def test_a_ring_too_many_is_an_error_on_its_line(name: str) -> None:
    wrong = [
        _try(slip, ALL[name], FIGURES["a ring too many"]) for slip in extra_rings(name, ALL[name])
    ]
    assert not any(wrong), "\n".join(filter(None, wrong))


@pytest.mark.parametrize("name", ALL)
def test_a_step_left_out_is_an_error(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(blame, "MOST_CAUSES", 0)  # caught or not: the cause is not asked for
    wrong = [
        _try(slip, ALL[name], FIGURES["a step left out"]) for slip in dropped_steps(name, ALL[name])
    ]
    assert not any(wrong), "\n".join(filter(None, wrong))


@pytest.mark.parametrize("name", ALL)
def test_swapped_names_are_an_error(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(blame, "MOST_CAUSES", 0)  # caught or not: the cause is not asked for
    wrong = [
        _try(slip, ALL[name], FIGURES["names swapped in a step"])
        for slip in swapped_names(name, ALL[name])
    ]
    assert not any(wrong), "\n".join(filter(None, wrong))


# -- what is spelled otherwise and is the same piece ------------------------------

#: (recipe, what is written, what could as well be written)
EQUALS = [
    ("persian", "S through M, prev M", "S through prev M, M"),
    ("persian", "S through M, prev M", "S through M1, M2, prev M1, prev M2"),
    ("persian", "add 2 M through prev S picks 2", "add M1, M2 through prev S picks 2"),
    (
        "persian",
        "  add 2 M through prev S picks 2\n",
        "  add M1 through prev S picks 2\n  add M2 through prev S\n",
    ),
    ("persian linked", "M2 through prev S, M1", "M2 through M1, prev S2, prev S1"),
    ("doubled", "prev A picks 2", "prev A1, prev A2"),
    ("doubled", "close 2 A", "close A1, A2"),
    ("spiral", "prev A, prev prev A if there", "prev A if there, prev prev A if there"),
    ("european", "above A, above next A if there", "above next A if there, above A"),
    ("flowers", "k through prev P picks 3", "k through prev P3, prev P1, prev P2 picks 3"),
    ("simple", "chain 30 units", "chain 31 units"),
]


@pytest.mark.parametrize(("name", "written", "other"), EQUALS)
def test_another_spelling_of_the_same_piece_stays_clean(
    name: str, written: str, other: str
) -> None:
    text = RECIPES[name]
    changed = text.replace(written, other)
    assert changed != text
    if name == "persian linked":
        changed = changed.replace("  S meets 6 M\n", "  S meets 6 M\n  H meets 2 M\n")
    assert [f.message for f in findings(changed)] == []
    if "chain 3" not in written:
        assert same_piece(text, changed)


def test_isomorphism_tells_pieces_apart() -> None:
    """The judge of 'the same piece' is no yes-man."""
    texts = [RECIPES[n] for n in ("doubled", "spiral", "simple")]
    assert not any(same_piece(a, b) for a in texts for b in texts if a is not b)
    crossed = RECIPES["persian"].replace("add 2 M through prev S", "add 2 M through prev M")
    assert not same_piece(RECIPES["persian"], crossed)


def test_slips_are_made_of_every_item_and_every_ring() -> None:
    """Counted by hand for the Persian chain: of the steps through `H`, `M`, `prev S` and
    `M, prev M` there are 5 items and 10 rings of roles; the 9 in the unit are tried twice."""
    made = list(slips("persian", RECIPES["persian"]))
    assert len(made) == 6 + 2 * 9
    assert len({s.text for s in made}) == len(made)
    assert all(len(s.text.split("\n")) == len(RECIPES["persian"].split("\n")) for s in made)


def test_a_mend_that_owes_a_lay_is_tried_to_its_end() -> None:
    """Each mend tried here leaves one step that owes a lay, whose sides are tried in turn; they are
    tried in the recipe as mended, or else the trying would go round for ever."""
    text = """rings:
  all  wire 1 mm, inside 40 mm, copper
expect:
  side meets 6 side
start:
  close 2 H
  add 3 side through H picks 2
unit 3:
  spread prev side
  add 3 side through prev side picks 3
  fold back side
unit:
  spread prev side
  add 3 side through prev side1 picks 3
  fold back side
piece:
  chain 4 units
"""
    (error,) = (f for f in findings(text) if f.severity == "error")
    assert (error.rule.name, error.span.line) == ("pick-count", 14)
    assert "write 'through prev side'" in " ".join(error.help)
