"""Pieces of several strands on one start: 'strands left 30 units, right 30 units, drop 6 units'.

Every number here is counted by hand.
"""

from __future__ import annotations

import json
import random
import re
from collections import Counter
from itertools import pairwise
from pathlib import Path

import pytest
from helpers import EXAMPLES, findings, read, report, view
from slips import Tally, judge
from slips_made import WRITERS, slips

from ringstep.commands.cli import main
from ringstep.draw.diagrams import all_diagrams
from ringstep.language.source import source_from_text
from ringstep.language.tidy import tidy
from ringstep.paper.steps_text import step_list
from ringstep.shop.tally import explicit
from ringstep.weave.work import Ring

Out = pytest.CaptureFixture[str]
CASES = Path(__file__).parent / "cases"
TEXTS = {
    **{n: EXAMPLES / f"{n}.weave" for n in ("y_necklace", "both_ways_bracelet", "three_festoons")},
    **{n: CASES / f"{n}.weave" for n in ("both_ways_from_a_sun", "fringe_between_bars",
                                         "halves_joined_last", "dangles")},
}  # fmt: skip
TEXTS = {name: path.read_text(encoding="utf-8") for name, path in TEXTS.items()}  # type: ignore[attr-defined]
#: Rings and links of the finished piece. A plain chain hung up by its start has as many links as
#: rings; the parts' links are counted as well.
COUNTED = {
    # hub, 3 rings of the start, 46 and 46 and 9 units, R, eye, hook; each ring but the hub is
    # linked with what it hangs on, and R and hook with a part besides
    "y_necklace": (1 + 3 + 46 + 46 + 9 + 3, 3 + 46 + 46 + 9 + 3 + 2),
    # 12 units are 82.8 mm and the least that make 80, 13 are 89.7; a unit has 2 rings and 4 links
    "both_ways_bracelet": (2 + 2 * (12 + 13) + 2, 4 * (12 + 13) + 3 + 2),
    "three_festoons": (1 + 3 + 24 + 30 + 37 + 1, 3 + 24 + 30 + 37 + 3),
    "both_ways_from_a_sun": (1 + 4 + 2 * (12 + 13) + 2, 4 + 4 * (12 + 13) + 4),
    "fringe_between_bars": (3 + 22 + 21 + 20 + 3, 3 + 22 + 21 + 20 + 6),
    "halves_joined_last": (4 + 2 * (12 + 17) + 1, 4 * (12 + 17) + 4),
    "dangles": (1 + 5 + 3 + 5 + 7 + 5 + 3 + 1, 1 + 5 + 23 + 2),
}


@pytest.mark.parametrize("name", TEXTS)
def test_every_job_is_clean_and_counted(name: str) -> None:
    seen = view(TEXTS[name])
    assert not findings(TEXTS[name])
    rings = sum(n for (role, _), n in seen.weave.counts.placed().items()
                if role not in seen.recipe.part_roles)  # fmt: skip
    assert (rings, seen.weave.links[0]) == COUNTED[name]
    assert len(seen.weave.parts_apart) == 1


@pytest.mark.parametrize("name", TEXTS)
def test_ring_by_ring_it_is_the_same_piece(name: str) -> None:
    """Counts, and what the rings of every name meet, as when nothing is cut."""
    weave = view(TEXTS[name]).weave
    whole = explicit(weave)
    assert whole.counts == weave.counts
    assert whole.links == weave.links
    met = [{(r, i, *sorted(m.items())) for r, i, m in w.neighbourhoods} for w in (weave, whole)]
    assert met[0] == met[1]


def test_a_million_units_cost_what_ten_cost() -> None:
    text = TEXTS["three_festoons"]
    many = re.sub(r"upper 24 units, middle 30", "upper 1000000 units, middle 2000000", text)
    few, more = view(text).weave, view(many).weave
    assert len(few.work.acts) == len(more.work.acts)
    assert more.counts.total() == 1 + 3 + 1_000_000 + 2_000_000 + 37 + 1
    assert not findings(many)


def test_every_strand_begins_at_the_start_and_last_is_its_own_last() -> None:
    weave = view(TEXTS["both_ways_bracelet"]).weave
    spans = weave.work.layout.strands.spans
    pair = [Ring("A", i, 1, 0) for i in (1, 2)]
    for span in spans.values():
        first = {Ring("A", i, 1, span[0]) for i in (1, 2)}
        assert all(first <= weave.work.links[ring].keys() for ring in pair)
    for name, ring in (("left", "R"), ("right", "eye")):
        ends = {Ring("A", i, 1, spans[name][-1]) for i in (1, 2)}
        last = Ring(ring, 1, 1, weave.work.layout.units + 1)
        assert ends == {r for r in weave.work.links[last] if r.role == "A"}
    assert [weave.layout.strands.name_of(u) for u in (0, 1, 12, 13, 25, 26)] == [
        "", "left", "left", "right", "right", "",
    ]  # fmt: skip


#: Lists of a finish on the both-ways bracelet (two A a unit; 2 + 24 + 26 A), and what they pick up.
NAMED = [
    ("last left A", 2), ("last left A1", 1), ("last prev right A", 2), ("first left A", 2),
    ("first A", 2), ("first next left A", 2), ("every left A", 24), ("every right A2", 13),
    ("every A", 52), ("last left A, last right A", 4),
]  # fmt: skip


@pytest.mark.parametrize(("named", "count"), NAMED)
def test_what_the_finish_names(named: str, count: int) -> None:
    line = "  add eye through last right A picks 2\n"
    text = TEXTS["both_ways_bracelet"].replace("  eye meets 2 A\n", "")
    text = text.replace(line, f"  add eye through {named} picks {count}\n")
    assert not {f.rule.name for f in findings(text)} & {"pick-count", "ring-not-there"}
    other = text.replace(f"picks {count}\n", f"picks {count + 1}\n")
    assert "pick-count" in {f.rule.name for f in findings(other)}


def test_a_strand_is_named_only_where_two_place_such_rings() -> None:
    """In the festoons every strand has rings of a name of its own."""
    text = TEXTS["three_festoons"].replace("last upper", "last upper upper")
    assert view(text).weave.work.links == view(TEXTS["three_festoons"]).weave.work.links


@pytest.mark.parametrize("writer", WRITERS)
def test_dropped_rings_are_caught_on_their_line_and_mended(writer: str) -> None:
    drops, rng = Tally(), random.Random(1)
    for name in ("y_necklace", "both_ways_bracelet", "halves_joined_last"):
        for slip in slips(name, TEXTS[name], 3, rng):
            if (slip.kind, slip.writer) == ("ring dropped", writer):
                judge(slip, drops)
    assert drops.real >= 7
    assert (drops.caught, drops.line, drops.mended) == (drops.real,) * 3, drops.stories


# -- what is said ----------------------------------------------------------------------------------


def test_the_list_tells_strand_after_strand() -> None:
    said = {s.heading: s.intro for s in step_list(view(TEXTS["y_necklace"])).sections}
    assert said["Strand left"].startswith("Work these steps 46 times.")
    assert said["Strand right"].startswith(
        "When strand left is done, go back to the start and work these steps 46 times."
    )
    assert said["Strand drop"].startswith("When strand right is done, go back to the start")
    both = step_list(view(TEXTS["both_ways_bracelet"]))
    (unit,) = (s.intro for s in both.sections if s.heading == "The unit")
    assert unit.startswith("Strand left: work these steps 12 times. Then strand right: go back to")
    assert both.piece == "2 strands: left of 12 units (82.8 mm) and right of 13 units (89.7 mm)"


def test_a_unit_between_two_of_another_is_told_in_order() -> None:
    """Left and right share the plain unit, drop comes between them."""
    text = TEXTS["both_ways_bracelet"].replace("left 80 mm, right 87 mm", "left 4 units, drop 2"
                                               " units, right 5 units")  # fmt: skip
    text = text.replace("piece:\n", "unit drop:\n  add 2 A through prev A picks 2\npiece:\n")
    said = {s.heading: s.intro for s in step_list(view(text)).sections}
    assert "When strand drop is done, strand right: go back to the start" in said["The unit"]
    assert said["Strand drop"].startswith("When strand left is done, go back to the start")


def test_lengths_are_told_by_strand(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "y.weave"
    path.write_text(TEXTS["y_necklace"], encoding="utf-8")
    assert main(["kit", str(path), "--json"]) == 0
    length = json.loads(capsys.readouterr().out)["length_mm"]
    told = [(s["strand"], s["units"], round(s["mm"], 6)) for s in length["strands"]]
    assert told == [("left", 46, 207.0), ("right", 46, 207.0), ("drop", 9, 40.5)]
    assert main(["kit", str(path)]) == 0
    assert "strand drop of 9 units measures 40.5 mm" in " ".join(capsys.readouterr().out.split())
    assert main(["kit", str(path), "--length", "190 mm"]) == 2
    assert "every strand has a length of its own" in " ".join(capsys.readouterr().err.split())


def test_rings_are_counted_by_strand(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "both.weave"
    path.write_text(TEXTS["both_ways_bracelet"], encoding="utf-8")
    for more in ([], ["--explicit"]):
        assert main(["count", str(path), "--json", *more]) == 0
        told = json.loads(capsys.readouterr().out)["strands"]
        assert [(s["strand"], s["units"], s["rings"]) for s in told] == [
            ("left", 12, 24), ("right", 13, 26),
        ]  # fmt: skip
    assert main(["count", str(path)]) == 0
    assert re.search(r"start and finish +4\n", capsys.readouterr().out)


def test_strands_stand_side_by_side_in_their_diagrams() -> None:
    """In the window every strand has a height of its own, and the start stands before them all."""
    for name in ("three_festoons", "both_ways_bracelet"):
        seen = view(TEXTS[name])
        strands = seen.weave.work.layout.strands
        window = next(d for d in all_diagrams(seen) if d.name == "window")
        high: dict[str, set[float]] = {}
        for node in window.nodes:
            high.setdefault(strands.name_of(node.ring.unit), set()).add(round(node.at[1]))
        lanes = [high[name] for name in strands.spans]
        for above, below in pairwise(lanes):
            assert min(above) > max(below)
        left = min(n.at[0] for n in window.nodes if n.ring.unit > 0)
        assert all(n.at[0] < left for n in window.nodes if n.ring.unit == 0)
        drawn = {frozenset((line.a, line.b)) for line in window.lines if line.b}
        assert len(drawn) == sum(line.b is not None for line in window.lines)


@pytest.mark.parametrize("order", ["order left, right", "order left"])
def test_strands_are_said_once(order: str) -> None:
    text = TEXTS["both_ways_bracelet"].replace("  sample", f"  {order}\n  sample")
    (finding,) = findings(text)
    assert "the strands are already said on line" in finding.message


@pytest.mark.parametrize(
    ("typed", "mend"),
    [
        ("strands left 80, right 87", "strands left 80 units, right 87 units"),
        ("strands 80 mm left, 87 mm right", "strands left 80 mm, right 87 mm"),
        ("strands of 12 left and 13 right", "strands left 12 units, right 13 units"),
        ("strand left of 12 units, right of 13 units", "strands left 12 units, right 13 units"),
        ("strands: left 12 units, right 13 units", "strands left 12 units, right 13 units"),
        ("strands left 12 units right 13 units", "strands left 12 units, right 13 units"),
        ("strands left, right 12 units", "strands left 12 units, right 12 units"),
        ("chain left 12 units, right 13 units", "strands left 12 units, right 13 units"),
        ("strands 2 of 12 units", "strands one 12 units, two 12 units"),
    ],
)
def test_strands_in_other_words_are_told_with_the_line_to_type(typed: str, mend: str) -> None:
    text = TEXTS["both_ways_bracelet"].replace("strands left 80 mm, right 87 mm", typed)
    assert report(text).count("error:") == 1
    assert f"write '{mend}'" in report(text)


def test_a_strand_keeps_its_name_where_a_recipe_is_tidied() -> None:
    """'last side1 A' is A of strand side1; a ring of that name would be written 'side 1'."""
    text = TEXTS["both_ways_bracelet"].replace("left", "side1").replace("last", "LAST")
    text = text.replace("strands side1 80 mm,", "Strands   side1 80 mm ,")
    lines = tidy(source_from_text(text)).lines
    assert "  strands side1 80 mm, right 87 mm" in lines
    assert "  add R through last side1 A, clasp picks 3" in lines


def test_names_of_strands_are_free_as_names_of_rings() -> None:
    """A ring may be called as a strand; 'strands', 'left' and 'drop' are no reserved words."""
    text = re.sub(r"\bA\b", "left", TEXTS["both_ways_bracelet"]).replace("last left left", "last"
                                                                        " left left")  # fmt: skip
    assert not findings(text)
    plain = text.replace("strands left 80 mm, right 87 mm", "chain 12 units")
    plain = re.sub(r"last (left|right) left", "last left", plain)
    assert Counter(f.rule.name for f in findings(plain)) == Counter()
    assert not read(re.sub(r"\beye\b", "strands", TEXTS["both_ways_bracelet"]))[1]


#: A Persian chain worked both ways from one pair of folded rings.
FOLDED = """\
weave "Persian both ways"
rings:
  all  wire 1.2 mm, inside 6.5 mm, aluminium
expect:
  M meets 6 S
  S meets 6 M
start:
  close 2 H
  add 2 M through H picks 2
  add 2 S through M picks 2
  fold back S
unit:
  spread prev M
  add 2 M through prev S picks 2
  add 2 S through M then prev M picks 4
  fold back S
piece:
  strands left 24 units, right 10 units
finish:
  take out first H
"""


def test_every_strand_finds_the_start_as_it_was_left() -> None:
    assert not findings(FOLDED)
    head, tail = FOLDED.split("unit:")
    told = {
        "in the start": head.replace("  fold back S\n", "") + "unit:" + tail,
        "in the unit": f"{head}unit:" + tail.replace("  fold back S\n", ""),
    }
    for where, text in told.items():
        (finding,) = findings(text)
        assert finding.message.startswith(f"'fold back S' seems to be forgotten {where}")
    (finding,) = findings(FOLDED.replace("  spread prev M\n", ""))
    assert finding.rule.name == "folded-not-shown"


def test_without_a_start_strands_are_begun_side_by_side() -> None:
    text = TEXTS["halves_joined_last"]
    text = re.sub(r"start:\n  close.*\n  close.*\n", "", text)
    text = re.sub(
        r"add 2 (\w+) through prev \w+ picks 2", r"add 2 \1 through prev \1 if there", text
    )
    assert not findings(text)
    said = {s.heading: s.intro for s in step_list(view(text)).sections}
    assert said["Strand evening"].startswith("When strand morning is done, begin anew beside it")


BOXES = """\
weave "Two straps of boxes"
rings:
  all  wire 1.2 mm, inside 5.5 mm, copper
expect:
  A meets 4
  B meets 4
  X meets 4
start:
  close 2 A
unit left:
  add 2 B through prev A picks 2
  add 2 A through B picks 2
unit right:
  add 2 X through prev A picks 2
  add 2 A through X picks 2
piece:
  strands left 9 units, right 9 units
"""


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("  add 2 B through prev A picks 2\n", "a step that places B seems to be forgotten before"),
        (
            "  add 2 A through B picks 2\n",
            "a step that places A seems to be forgotten in unit left",
        ),
        ("  add 2 X through prev A picks 2\n", "a step that places X seems to be forgotten before"),
        (
            "  add 2 A through X picks 2\n",
            "a step that places A seems to be forgotten in unit right",
        ),
    ],
)
def test_a_step_forgotten_in_a_strand_is_told_as_that(line: str, says: str) -> None:
    """Whether or not another strand places rings of that name."""
    assert not findings(BOXES)
    (found,) = findings(BOXES.replace(line, ""))
    assert found.rule.name == "forgotten-step"
    assert found.message.startswith(says)


@pytest.mark.parametrize(
    ("length", "units"),
    [
        # 60 mm of 4.5 mm a unit are 13.3 units, 210 mm are 46.7; the others stay as they are.
        ("drop=60 mm", (46, 46, 14)),
        ("drop=6 cm, left=210 mm", (47, 46, 14)),
    ],
)
def test_a_kit_gives_another_length_to_the_strand_that_is_named(
    length: str, units: tuple[int, int, int], capsys: pytest.CaptureFixture[str]
) -> None:
    recipe = str(EXAMPLES / "y_necklace.weave")
    assert main(["kit", recipe, "--length", length, "--json"]) == 0
    kit = json.loads(capsys.readouterr().out)
    # A ring a unit; besides the hub and three rings of the start, and three of the finish.
    assert sum(line["piece"] for line in kit["rings"]) == sum(units) + 4 + 3


@pytest.mark.parametrize(
    ("recipe", "length", "says"),
    [
        ("y_necklace", "60 mm", "say which strand, as in --length 'left=200 mm'"),
        ("y_necklace", "dorp=60 mm", "no strand is called 'dorp'; the piece has left, right and"),
        ("y_necklace", "drop=", "--length: '' is not a size"),
        ("sun_bracelet", "drop=60 mm", "the piece has no strands"),
        ("three_festoons", "upper=19 cm", "'sample 10 upper = … mm'"),
    ],
)
def test_a_length_that_fits_no_strand_says_what_to_type(
    recipe: str, length: str, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["kit", str(EXAMPLES / f"{recipe}.weave"), "--length", length]) == 2
    assert says in capsys.readouterr().err
