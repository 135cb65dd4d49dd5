"""The text for a shop's page: all that recipe and kit say, and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest
from helpers import EXAMPLES, LIBRARY, PERSIAN, SIMPLE, view
from test_kit import CLASP, CLASP_FILE, kit
from test_packing_slip import Slip

from ringstep.commands.cli import main
from ringstep.paper.cautions import CAUTIONS
from ringstep.paper.printed import as_plain
from ringstep.paper.shop_text import shop_page, shop_text, size_known
from ringstep.shop.kit import kit_of
from ringstep.shop.kit_length import sized
from ringstep.shop.wish import Wish

Out = pytest.CaptureFixture[str]


def text_of(recipe: str, **wanted: object) -> str:
    wish = Wish(**wanted)  # type: ignore[arg-type]
    piece, _ = sized(view(recipe), wish)
    return " ".join(as_plain(shop_text(piece, kit_of(view(recipe), wish))).split())


def test_the_finished_kit_in_words() -> None:
    """36 units are 37 A and a tail; the weight is that of test_kit, 37 x 0.19650 + 0.29158 g."""
    told = text_of(CLASP)
    assert "A kit for a chain of 36 units, rings of copper, to be made ring by ring." in told
    assert "length: about 180 mm without its ends (10 units measure 50 mm)" in told
    assert "Computed, not measured: pulled straight" in told
    assert "38 rings in all - about 7.56 g, computed, parts not counted" in told
    assert "37 A rings: 1.2 × 5 mm, copper - 1 tail ring: 1.2 × 8 mm, copper" in told
    assert "1 clasp: lobster claw, brass" in told
    assert all(" ".join(caution.split()) in told for caution in CAUTIONS)


def test_helpers_that_come_out_are_in_the_kit_and_not_in_the_piece() -> None:
    """25 units of the Persian chain take 102 rings, of which 2 come out again."""
    told = text_of(PERSIAN)
    assert "100 rings in all" in told
    assert "102 rings: " in told


def test_what_is_not_known_is_left_out() -> None:
    told = text_of(SIMPLE.replace(", copper", ""))
    for word in ("length", "weigh", " g,", "difficulty", "rings of", "Batch", "All sizes"):
        assert word not in told


def test_a_length_says_how_it_was_come_by() -> None:
    measured = SIMPLE.replace("chain 30 units", "chain 30 units\n  sample 10 units = 50 mm")
    told = "about 150 mm without its ends (10 units measure 50 mm, laid flat without pulling)"
    assert told in text_of(measured)
    seen, wish = view(SIMPLE.replace("30 units", "150 mm")), Wish()
    made = kit_of(seen, wish, computed=(4.0, 5.0))
    piece, _ = sized(seen, wish, (4.0, 5.0))
    units = made.length.units if made.length else 0
    assert units == 38  # 150 mm pushed together to 4 mm a unit
    assert size_known(piece, made) == (
        "about 152 mm pushed together to 190 mm pulled straight, without its ends; computed, not"
        " measured"
    )


def test_the_difficulty_is_the_recipes_own() -> None:
    own = SIMPLE.replace("rings:", "notes:\n  difficulty  a first chain\nrings:", 1)
    assert "difficulty: a first chain" in text_of(own)


def test_rings_of_every_set_of_sizes() -> None:
    recipe = (EXAMPLES / "graduated_strand.weave").read_text("utf-8")
    told = text_of(recipe)
    for row in (
        "short A, units 1 to 6 1 × 4 mm, copper",
        "short eye 0.8 × 3.2 mm, copper",
        "long A, units 7 to 12 1.6 × 6.5 mm, copper",
        "long eye 1 × 4 mm, copper",
    ):
        assert row in told


def test_the_page_obeys_nothing_that_a_recipe_says() -> None:
    text = CLASP.replace("Simple chain with a clasp", "<script>alert(1)</script>\u202e&")
    piece, _ = sized(view(text), Wish())
    page = shop_page(shop_text(piece, kit(text)), '"><b>x.svg')
    slip = Slip(page)
    assert {"script", "b", "link"} & slip.tags == set()
    assert "\u202e" not in page


def test_a_picture_is_found_whatever_its_file_is_called() -> None:
    page = shop_page(shop_text(view(SIMPLE), kit(SIMPLE)), "chain #1 50%.svg")
    assert 'src="chain%20%231%2050%25.svg"' in page


def test_three_files_that_belong_together(tmp_path: Path, capsys: Out) -> None:
    assert main(["lesson", str(CLASP_FILE), "--shop-text", str(tmp_path)]) == 0
    names = {path.name for path in tmp_path.iterdir()}
    stem = "chain_with_clasp"
    assert names == {f"{stem}-shop.txt", f"{stem}-shop.html", f"{stem}-finished.svg"}
    assert f'<img src="{stem}-finished.svg"' in (tmp_path / f"{stem}-shop.html").read_text("utf-8")
    assert f"Picture: {stem}-finished.svg" in (tmp_path / f"{stem}-shop.txt").read_text("utf-8")
    svg = (tmp_path / f"{stem}-finished.svg").read_text("utf-8")
    assert svg.lstrip().startswith("<svg")
    assert capsys.readouterr().err == ""


def test_a_piece_that_is_not_drawn_has_no_picture_and_says_why(tmp_path: Path, capsys: Out) -> None:
    recipe = str(EXAMPLES / "graduated_strand.weave")
    assert main(["lesson", recipe, "--size", "short", "--shop-text", str(tmp_path)]) == 0
    told = capsys.readouterr().err
    assert "has no picture, since the rings are not drawn: the size of A changes" in told
    assert "says no length, since none is known" in told
    assert "<img" not in (tmp_path / "graduated_strand-shop.html").read_text("utf-8")
    assert not list(tmp_path.glob("*.svg"))


def test_no_shop_text_is_made_of_a_recipe_with_errors(tmp_path: Path, capsys: Out) -> None:
    wrong = str(EXAMPLES / "missed_ring.weave")
    assert main(["lesson", wrong, "--shop-text", str(tmp_path)]) == 2
    assert "has errors" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_library_weaves_say_no_length_without_a_sample() -> None:
    recipe = (LIBRARY / "byzantine.weave").read_text("utf-8")
    assert "sample" not in recipe.partition("piece:")[2]
    assert "length" not in text_of(recipe)
