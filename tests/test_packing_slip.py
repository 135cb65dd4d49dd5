"""The page of a kit: a slip to pack by, a shopping list, a label for each kind of ring."""

from __future__ import annotations

import re
from collections import Counter
from decimal import Decimal
from html import unescape
from html.parser import HTMLParser
from math import pi
from pathlib import Path

import pytest
from helpers import EXAMPLES, LIBRARY, PERSIAN_LINKED, SHAGGY, SIMPLE, shipped_recipes, view
from test_kit import CLASP, FULL, kit
from test_metals import HANDBOOK

from ringstep.commands.cli import main
from ringstep.paper.packing_slip import MOST_CARDS, packing_slip
from ringstep.paper.tools import THREAD, TOOLS, tools_of
from ringstep.shop.kit import Kit, kit_of
from ringstep.shop.order import order_of
from ringstep.shop.wish import Wish

Out = pytest.CaptureFixture[str]


def page_of(made: Kit) -> str:
    return packing_slip(order_of((made,)), TOOLS)


# -- the packing slip ------------------------------------------------------------------------------


class Slip(HTMLParser):
    """Tags that stay open, boxes, and the text of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.boxes: list[str] = []
        self.tags: set[str] = set()
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        if dict(attrs).get("type") == "checkbox":
            self.boxes.append(dict(attrs).get("aria-label") or "")
        if tag not in ("input", "meta", "br", "img"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open[-1:] != ["style"]:
            self.text += f" {data}"


def test_the_slip_has_a_box_for_everything_of_every_kit(tmp_path: Path, capsys: Out) -> None:
    target = tmp_path / "slip.html"
    assert main([*FULL, "--slip", str(target)]) == 0
    assert f"wrote {target}" in capsys.readouterr().out
    slip = Slip(target.read_text(encoding="utf-8"))
    assert slip.open == []
    assert slip.boxes[:3] == ["all kits: A", "all kits: tail", "all kits: clasp"]
    cards = [box for box in slip.boxes if box.startswith("Kit ")]
    assert cards == [f"Kit {n}: {x}" for n in range(1, 9) for x in ("A", "tail", "clasp")]
    text = " ".join(slip.text.split())
    assert "A 1.2 × 5 mm, copper 41 328 4 of 100" in text
    assert text.count("41 A rings , 1.2 × 5 mm, copper 39 opened, 2 spare") == 8
    assert "choking hazard" in text
    assert "EUR" not in text  # the slip may lie open on the class table


def test_the_slip_shows_what_a_recipe_says_and_obeys_none_of_it() -> None:
    text = CLASP.replace("Simple chain with a clasp", "<script>alert(1)</script>\u202e&")
    page = page_of(kit(text.replace("lobster claw", "claw</td><b>'&"), pieces=2))
    slip = Slip(page)
    assert {"script", "b", "link", "img"} & slip.tags == set()
    assert "\u202e" not in page
    assert not re.search(r"(?:src|href)=|url\(|@import", page)
    assert "<script>alert(1)</script>" in slip.text


def test_a_slip_for_hundreds_prints_a_fold_of_cards_and_says_so() -> None:
    slip = Slip(page_of(kit(SIMPLE, pieces=500)))
    assert len([box for box in slip.boxes if box.startswith("Kit ")]) == MOST_CARDS
    assert "500 kits are wanted; the first 60 stand here, the others are the same." in slip.text


def test_one_kit_reads_as_one() -> None:
    text = " ".join(Slip(page_of(kit(SIMPLE))).text.split())
    assert "For a chain of 30 units." in text
    assert "The kit" in text
    assert "kits" not in text


def shown(page: str) -> str:
    """The text of a page as one reads it."""
    return " ".join(Slip(page).text.split()).replace(" ,", ",")


def test_a_card_counts_rings_and_names_only_what_must_be_told_apart() -> None:
    """Rings of one product are rings, whatever roles they play; several products are named."""
    assert "102 rings, 1.2 × 7 mm, aluminium" in shown(page_of(kit(PERSIAN_LINKED)))
    sheet = shown(page_of(kit((LIBRARY / "japanese_12.weave").read_text("utf-8"))))
    assert "rings for across, aslant and down, 0.8 × 4 mm, stainless steel" in sheet
    assert "flat rings, 1.2 × 9 mm, stainless steel" in sheet
    clasped = shown(page_of(kit(CLASP)))
    assert "1 tail ring, 1.2 × 8 mm, copper" in clasped
    assert "1 clasp, lobster claw, brass" in clasped


@pytest.mark.parametrize(
    "text",
    [*shipped_recipes().values(), CLASP.replace("chain 180 mm", "chain 36 units")],
    ids=[*shipped_recipes(), "units and a sample"],
)
def test_the_slip_names_no_option(text: str) -> None:
    """It lies before students, who type nothing; the terminal tells the teacher what to type."""
    text = shown(page_of(kit(text)))
    assert "--" not in text
    assert "'" not in text.replace("recipe's", "")


# -- the shopping list -----------------------------------------------------------------------------


def part(page: str, title: str) -> str:
    """The text of one sheet of the page as one reads it."""
    (found,) = [x for x in page.split('<section class="sheet">') if f"<h2>{title}</h2>" in x]
    return " ".join(unescape(re.sub("<[^>]+>", " ", found)).split()).replace(" ,", ",")


def test_the_shopping_list_by_hand(tmp_path: Path) -> None:
    """The class of eight of `test_a_class_of_eight_by_hand`: 8 x 41 rings of 0.19650 g are 64.5 g,
    8 x 2 tails of 0.29158 g are 4.67 g; packs of 100, 10 and 10."""
    target = tmp_path / "slip.html"
    assert main([*FULL, "--slip", str(target)]) == 0
    page = target.read_text(encoding="utf-8")
    told = part(page, "Shopping list")
    assert "8 kits, each for a chain of 38 units, with 5 % spare rings." in told
    assert "to buy what it is 8 kits weight, g packs" in told
    assert "A 1.2 × 5 mm, copper 328 64.5 4 of 100" in told
    assert "tail 1.2 × 8 mm, copper 16 4.67 2 of 10" in told
    assert "clasp lobster claw, brass 8 1 of 10" in told
    assert "closed round rings: copper 8.92 g/cm³." in told
    boxes = [box for box in Slip(page).boxes if re.match("bought|ready", box)]
    assert boxes == [
        "bought: A", "bought: tail", "bought: clasp", *(f"ready: {tool}" for tool in TOOLS)
    ]  # fmt: skip


def test_a_metal_that_is_not_known_is_not_weighed() -> None:
    page = page_of(kit(SIMPLE.replace("copper", "moonmetal"), pieces=2))
    assert "mm, moonmetal 62 not known" in part(page, "Shopping list")
    assert "g/cm³" not in page
    assert "31 rings, weight not known" in part(page, "Labels for the bags")


def test_thread_is_asked_for_where_a_step_ties() -> None:
    assert tools_of(view(SIMPLE).recipe) == TOOLS
    tied = SIMPLE.replace("close A\n", "close A\n  tie A\n")
    assert tools_of(view(tied).recipe) == (*TOOLS, THREAD)


# -- labels ----------------------------------------------------------------------------------------

LABEL = re.compile(r'<section class="label">(.*?)</section>', re.S)
DENSITY = dict(HANDBOOK)


def labels(page: str) -> list[str]:
    told = (unescape(re.sub("<[^>]+>", " ", x)) for x in LABEL.findall(page))
    return [" ".join(x.split()).replace(" ,", ",") for x in told]


def test_labels_by_hand() -> None:
    """Of the same class: 41 rings of 0.19650 g are 8.06 g, two tails of 0.29158 g are 0.58 g."""
    text = CLASP.replace("chain 180 mm", "chain 38 units")
    every = labels(page_of(kit(text, pieces=8, spares=Decimal(5))))
    ring, tail = every[:2]
    assert every == [ring, tail] * 8  # for the bags of eight kits
    assert ring == (
        "Simple chain with a clasp A rings 1.2 × 5 mm wire 1.2 mm, inside 5 mm, copper"
        " 41 rings (39 and 2 spare), about 8.06 g"
        " Small rings are a choking hazard: keep them from small children."
    )
    assert "2 rings (1 and 1 spare), about 0.58 g" in tail


WEAVES = {**shipped_recipes(), **{p.stem: p.read_text("utf-8") for p in EXAMPLES.glob("*.weave")}}
del WEAVES["missed_ring"]  # it has an error on purpose


@pytest.mark.parametrize("name", WEAVES)
def test_every_kind_has_one_label_that_weighs_what_its_rings_do(name: str) -> None:
    """Metal by Pappus, 2 pi^2 R r^2, out of the size on the label, at the handbook's density;
    alloys and sheets differ by 1.5 %, as in `test_densities_agree_with_handbooks`."""
    made = kit_of(view(WEAVES[name]), Wish())
    told = labels(page_of(made))
    seen: Counter[tuple[str, ...]] = Counter()
    for label in told:
        found = re.search(
            r"([\d.]+) × ([\d.]+) mm wire ([^,]*), inside ([^,]*), (.*?) ([\d,]+) rings?"
            r", about ([\d.,]+) g Small rings are a choking hazard",
            label,
        )
        assert found, label
        wire, inside = float(found[1]), float(found[2])
        many, grams = (float(found[at].replace(",", "")) for at in (6, 7))
        metal = found[5].split(",")[0]
        one = 2 * pi**2 * (inside + wire) / 2 * (wire / 2) ** 2 * DENSITY[metal] / 1000
        assert grams == pytest.approx(many * one, rel=0.02, abs=0.006)
        seen[found[1], found[2], found[3], found[4], found[5]] += 1
    assert set(seen.values()) == {1}  # no two labels could be taken for one another
    assert len(told) == len(made.lines)
    assert sum(line.in_kit for line in made.lines) == sum(
        int(re.findall(r" ([\d,]+) rings?,", x)[0].replace(",", "")) for x in told
    )


def test_labels_of_very_many_kits_are_made_once() -> None:
    page = page_of(kit(SHAGGY, pieces=121))
    assert len(labels(page)) == 2
    assert "print the labels once for each kit" in page


def test_labels_count_what_is_in_a_kit() -> None:
    """40 units of a core and six tufts; 10 % on top are 4 and 24."""
    core, tuft, *others = labels(page_of(kit(SHAGGY, spares=Decimal(10), pieces=3)))
    assert others == [core, tuft] * 2
    assert "core rings" in core
    assert "44 rings (40 and 4 spare)" in core
    assert "264 rings (240 and 24 spare)" in tuft


def test_two_sizes_that_round_alike_are_told_apart() -> None:
    """18 swg is 1.219 mm, which is printed as 1.22 mm; the recipe's own words differ."""
    text = SHAGGY.replace(
        re.search(r"^  core .*", SHAGGY, re.M)[0], "  core  wire 18 swg, inside 6 mm, copper"
    ).replace(
        re.search(r"^  tuft .*", SHAGGY, re.M)[0], "  tuft  wire 1.22 mm, inside 6 mm, copper"
    )
    core, tuft = labels(page_of(kit(text)))
    assert "1.22 × 6 mm wire 18 swg, inside 6 mm, copper" in core
    assert "1.22 × 6 mm wire 1.22 mm, inside 6 mm, copper" in tuft
