"""Which declarations are asked for, by metal, with their figures."""

from __future__ import annotations

from pathlib import Path

import pytest
from helpers import SIMPLE, shipped_recipes

from ringstep.checks.pipeline import view_of
from ringstep.commands.cli import main
from ringstep.language.source import source_from_text
from ringstep.paper.kit_tables import ask_words, kit_data, kit_page
from ringstep.paper.packing_slip import packing_slip
from ringstep.paper.printed import as_plain
from ringstep.shop.declarations import declarations
from ringstep.shop.kit import Kit, kit_of
from ringstep.shop.order import order_of
from ringstep.shop.wish import Wish


def kit(text: str) -> Kit:
    return kit_of(view_of(source_from_text(text)), Wish())


def asked(*materials: str) -> dict[str, tuple[str, ...]]:
    return {ask.what.split()[0].rstrip(","): ask.of for ask in declarations(materials)}


@pytest.mark.parametrize(
    "metal",
    ["copper", "aluminium", "bright aluminium", "anodised aluminum", "titanium", "niobium",
     "fine silver", "rubber", "mystery metal", ""],
)  # fmt: skip
def test_metals_that_call_for_nothing(metal: str) -> None:
    assert declarations([metal]) == ()


@pytest.mark.parametrize(
    ("metal", "what"),
    [
        ("brass", {"lead": ("brass",), "cadmium": ("brass",)}),
        ("C26000 brass", {"lead": ("brass",), "cadmium": ("brass",)}),
        ("red brass", {"lead": ("red brass",)}),
        ("steel", {"nickel": ("steel",)}),
        ("316L stainless steel", {"nickel": ("stainless steel",)}),
        ("surgical steel", {"nickel": ("stainless steel",)}),
        ("nickel silver", {"nickel": ("nickel silver",), "lead": ("nickel silver",)}),
        ("phosphor bronze", {"lead": ("phosphor bronze",)}),
        ("sterling silver", {"cadmium": ("sterling silver",)}),
        ("silver plated copper", {"nickel": ("silver plated copper",)}),
        ("lobster claw, brass", {"lead": ("brass",), "cadmium": ("brass",)}),
    ],
)
def test_what_a_metal_calls_for(metal: str, what: dict[str, tuple[str, ...]]) -> None:
    assert asked(metal) == what


def test_figures_and_their_rules() -> None:
    """REACH Annex XVII: entry 27 (0.5 and 0.2 µg/cm² a week, coatings two years; tested to EN
    1811:2023), entry 63 (0.05 % by weight, Regulation 836/2012); the alloy C26000 permits 0.07 %
    lead, which is more; entry 23: ECHA, questions and answers, no. 158."""
    nickel, lead, cadmium = (ask.what for ask in declarations(["steel", "brass"]))
    assert "at most 0.5 µg/cm² a week on the skin, below 0.2 for posts in pierced ears" in nickel
    assert "entry 27, tested to EN 1811:2023" in nickel
    assert "two years" not in nickel
    assert "below 0.05 % by weight (EU REACH entry 63)" in lead
    assert "C26000 may hold up to 0.07 %" in lead
    assert "below 0.01 % by weight (EU REACH entry 23)" in cadmium
    assert "C26000" not in declarations(["bronze"])[0].what
    assert "two years" in declarations(["nickel plated steel"])[0].what


def test_a_kit_asks_once_for_all_its_rings_and_parts() -> None:
    """The rings are copper, the clasp is brass."""
    made = kit(shipped_recipes()["chain_with_clasp"])
    told = ask_words(made)
    assert [words.split(",")[0] for words in told[:-1]] == ["brass: lead", "brass: cadmium"]
    assert told[-1] == "this is a caution, no advice: local rules go first"
    page = " ".join(as_plain(kit_page(made)).split())
    assert page.count("ASK YOUR SUPPLIER FOR A DECLARATION OF") == 1
    assert kit_data(made)["ask_supplier_for"] == told
    slip = packing_slip(order_of((made,)), ())
    assert slip.count("Brass: lead, below 0.05 % by weight") == 1


def test_a_kit_of_copper_asks_for_nothing() -> None:
    made = kit(SIMPLE)
    assert "SUPPLIER" not in as_plain(kit_page(made))
    assert "Ask your supplier" not in packing_slip(order_of((made,)), ())
    assert kit_data(made)["ask_supplier_for"] == []


def test_a_hand_out_says_it_in_a_sentence(tmp_path: Path) -> None:
    """Of copper rings nothing is asked; the clasp of the other is brass."""
    for text, asked in ((SIMPLE, False), (shipped_recipes()["chain_with_clasp"], True)):
        (tmp_path / "it.weave").write_text(text, encoding="utf-8")
        page = tmp_path / "it.html"
        words = ["handout", str(tmp_path / "it.weave"), "--pictures", "none", "--to", str(page)]
        assert main(words) == 0
        told = "Here ask for the declaration of lead (brass) and cadmium (brass); local rules go"
        assert (told in page.read_text(encoding="utf-8")) is asked
