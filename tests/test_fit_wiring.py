"""What a kept fit adds to the hand-out and the kit, and that without one nothing changes."""

from __future__ import annotations

import json
import re
from collections import Counter
from math import ceil
from pathlib import Path

import pytest
from helpers import LIBRARY

from ringstep.commands import fit_store
from ringstep.commands.cli import main
from ringstep.commands.rim import view
from ringstep.paper.film import COMPUTED

Out = pytest.CaptureFixture[str]
CHAIN = (LIBRARY / "simple_chain.weave").read_text(encoding="utf-8")
BARE = CHAIN.replace("  sample 10 units = 50 mm\n", "").replace("chain 190 mm", "chain 9 units")


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A cache with the fit of a simple chain, and an empty one."""
    fitted, empty = tmp_path_factory.mktemp("fitted"), tmp_path_factory.mktemp("empty")
    recipe = fitted / "bare.weave"
    recipe.write_text(BARE, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("RINGSTEP_CACHE", str(fitted))
        assert main(["fit", str(recipe), "--effort", "0", "--to", str(fitted / "out")]) == 0
    return fitted, empty


@pytest.fixture
def recipe(tmp_path: Path) -> Path:
    path = tmp_path / "chain.weave"
    path.write_text(CHAIN, encoding="utf-8")
    return path


@pytest.fixture
def fitted(folders: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RINGSTEP_CACHE", str(folders[0]))


def page(recipe: Path, *words: str) -> str:
    target = recipe.with_suffix(".html")
    assert main(["handout", str(recipe), "--to", str(target), *words]) == 0
    return target.read_text(encoding="utf-8")


# -- the hand-out ----------------------------------------------------------------------------------


@pytest.mark.usefixtures("fitted")
def test_the_real_rings_lead_and_the_diagram_stands_beside_the_count(recipe: Path) -> None:
    text = page(recipe)
    panels = re.findall(r'<figure class="panel">(.*?)</figure>', text, re.S)
    labels = [re.findall(r'<svg [^>]*aria-label="([^"]*)"', panel) for panel in panels]
    assert [len(each) for each in labels] == [1, 2]
    assert labels[1][0].startswith("the real rings before step 2")
    assert labels[1][1].startswith("the real rings after step 2, A, dark, new, through prev A")
    marks = re.findall(r'<span class="mark"><svg [^>]*aria-label="([^"]*)"', text)
    assert [mark[:12] for mark in marks] == ["After step 2"]
    key = text[text.index("What the signs mean") : text.index('data-step="1"')]
    assert COMPUTED in key.replace("&#x27;", "'")
    ids = Counter(re.findall(r'\bid="([^"]+)"', text))
    assert max(ids.values()) == 1


@pytest.mark.usefixtures("fitted")
@pytest.mark.parametrize("words", [[], ["--large"], ["--paper", "letter", "--pictures", "only"]])
def test_pictures_of_a_step_stand_side_by_side_in_their_column(
    recipe: Path, words: list[str]
) -> None:
    """A column of plain print is 48 of 100 of the text, 180 mm on A4 and 186 mm on Letter."""
    room = 180.0 if "--large" in words else 0.48 * (186 if "letter" in words else 180)
    panels = re.findall(r'<figure class="panel">(.*?)</figure>', page(recipe, *words), re.S)
    assert len(panels) == 2
    for panel in panels:
        sizes = re.findall(
            r'aria-label="the real rings[^>]*? width="(\d+)pt" height="(\d+)pt"', panel
        )
        assert 0 < sum(int(wide) for wide, _ in sizes) <= room * 72 / 25.4
        assert all(0 < int(high) <= 75 * 72 / 25.4 for _, high in sizes)


@pytest.mark.usefixtures("fitted")
def test_pictures_of_real_rings_can_be_left_out(recipe: Path) -> None:
    plain = page(recipe, "--rings", "none")
    assert "the real rings after" not in plain
    assert 'class="panel"' not in plain
    words = page(recipe, "--pictures", "none")
    assert words == page(recipe, "--pictures", "none", "--rings", "none")
    draft = page(recipe, "--draft")
    assert draft == page(recipe, "--draft", "--rings", "none")


def test_rings_that_cannot_be_drawn_are_told_and_the_diagrams_stay(tmp_path: Path) -> None:
    shipped = (LIBRARY / "byzantine.weave").read_text(encoding="utf-8")
    path = tmp_path / "small.weave"
    path.write_text(shipped.replace("inside 4.2 mm", "inside 3.8 mm"), encoding="utf-8")
    text = page(path)
    assert "The real rings are not drawn: its rings are too small for their wire: C has AR" in text
    assert "After step 2" in text
    assert 'class="panel"' not in text


# -- the kit ---------------------------------------------------------------------------------------


@pytest.mark.usefixtures("fitted")
def test_a_kit_without_a_sample_goes_by_the_computed_range(tmp_path: Path, capsys: Out) -> None:
    bare = tmp_path / "bare.weave"
    bare.write_text(BARE, encoding="utf-8")
    found = fit_store.fitted_length(view(str(bare)))
    assert found is not None
    low, high = found
    assert high == pytest.approx(5.0, abs=0.01)  # the inside diameter, by geometry
    assert main(["kit", str(bare), "--length", "188 mm"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "computed with rigid round rings, not measured" in said
    assert f"a unit is {low:.2f} mm long pushed together and 5.00 mm hanging" in said
    assert f"takes 38 units at least, pushed together {ceil(188 / low)} at most" in said
    assert "the recipe's sample says" not in said
    assert main(["kit", str(bare), "--length", "188 mm", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["length_mm"]["units"] == ceil(188 / low) > 38
    assert data["length_mm"]["least_units"] == 38
    assert data["length_mm"]["computed_unit"] == pytest.approx([low, high])
    assert data["length_mm"]["sample"] is None
    # one ring a unit and the closed one of the start: enough even when pushed together
    assert data["rings"][0]["piece"] == ceil(188 / low) + 1
    wanted = tmp_path / "wanted.weave"
    wanted.write_text(BARE.replace("chain 9 units", "chain 190 mm"), encoding="utf-8")
    assert main(["kit", str(wanted)]) == 0
    assert "computed with rigid round rings, not measured" in capsys.readouterr().out


@pytest.mark.usefixtures("fitted")
def test_a_sample_goes_before_what_was_computed(recipe: Path, capsys: Out) -> None:
    assert main(["kit", str(recipe)]) == 0
    said = capsys.readouterr().out
    assert "the recipe's sample says 10 units = 50 mm" in said
    assert "a unit is" not in said


def test_without_a_kept_fit_it_says_how_to_get_one(
    tmp_path: Path, folders: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    monkeypatch.setenv("RINGSTEP_CACHE", str(folders[1]))
    bare = tmp_path / "bare.weave"
    bare.write_text(BARE, encoding="utf-8")
    assert main(["kit", str(bare), "--length", "188 mm"]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "run 'ringstep fit FILE' once, which computes a range" in said
