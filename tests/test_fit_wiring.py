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
from ringstep.paper.fit_report import COMPUTED

Out = pytest.CaptureFixture[str]
CHAIN = (LIBRARY / "simple_chain.weave").read_text(encoding="utf-8")
BARE = CHAIN.replace("  sample 10 units = 50 mm\n", "").replace("chain 190 mm", "chain 9 units")
ALT = "computed picture of the real rings after step 2"


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
def test_the_computed_picture_stands_beside_the_diagram(recipe: Path) -> None:
    text = page(recipe)
    pair = re.search(r'<figure class="below pair">(.*?)</figure>', text, re.S)
    assert pair is not None
    labels = re.findall(r'<svg role="img" aria-label="([^"]*)"', pair[1])
    assert len(labels) == 2
    assert labels[0].startswith("After step 2")
    assert labels[1] == ALT
    assert pair.start() > text.index('<li class="step" value="2">'), "it is in step 2"
    key = text[text.index("What the marks mean") : pair.start()]
    assert COMPUTED in key.replace("&#x27;", "'")
    ids = Counter(re.findall(r'\bid="([^"]+)"', text))
    assert max(ids.values()) == 1


@pytest.mark.usefixtures("fitted")
@pytest.mark.parametrize("words", [[], ["--large"], ["--paper", "letter", "--pictures", "only"]])
def test_a_computed_picture_is_no_wider_than_its_half_of_the_column(
    recipe: Path, words: list[str]
) -> None:
    size = re.search(ALT + r'"[^>]*? width="(\d+)pt" height="(\d+)pt"', page(recipe, *words))
    assert size is not None
    assert 0 < int(size[1]) <= 0.46 * 186 * 72 / 25.4 + 1  # letter has the wider column, 186 mm
    assert 0 < int(size[2]) <= 60 * 72 / 25.4 + 1


def test_without_a_kept_fit_the_page_is_as_it_was(
    recipe: Path, folders: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RINGSTEP_CACHE", str(folders[1]))
    plain = page(recipe)
    assert "omputed picture" not in plain
    assert 'class="below pair"' not in plain
    assert COMPUTED.partition("'")[0] not in plain
    monkeypatch.setenv("RINGSTEP_CACHE", str(folders[0]))
    assert page(recipe) != plain
    assert page(recipe, "--rings", "none") == plain
    words = page(recipe, "--pictures", "none")
    assert words == page(recipe, "--pictures", "none", "--rings", "none")
    draft = page(recipe, "--draft")
    assert draft == page(recipe, "--draft", "--rings", "none")
    with monkeypatch.context() as patch:  # the page that never heard of fits
        patch.setattr(fit_store, "step_pictures", lambda _: {})
        assert page(recipe) == plain


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
    assert f"computed, not measured: a unit is {low:.2f} to 5.00 mm long; measure a sample" in said
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
    assert "computed, not measured" in capsys.readouterr().out


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
    assert "or run 'ringstep fit FILE' first, which computes a range" in said
