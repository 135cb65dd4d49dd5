"""What commands work out of what was typed: mandrels, kits of several, a search for forms."""

from __future__ import annotations

import csv
import io
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from helpers import DOUBLED, SIMPLE, shipped_recipes
from test_commands import Out, Patch, Terminal

from ringstep.commands import fit, fit_store, kit
from ringstep.commands.cli import main
from ringstep.space.cell import CellError


def rows(capsys: Out, *words: str) -> list[dict[str, str]]:
    """What a command prints as CSV."""
    assert main([*words, "--csv"]) == 0
    return [*csv.DictReader(io.StringIO(capsys.readouterr().out))]


# -- mandrel ---------------------------------------------------------------------------------------


def test_mandrel_for_an_inside_is_the_one_that_springs_to_it(capsys: Out) -> None:
    """A coil wound on 8 mm came out 8.4 mm inside, and outside 1.2 mm more on either side."""
    words = ("mandrel", "--wire", "1.2 mm", "--inside", "5 mm", "--coil")
    inside, outside = (
        rows(capsys, *words, coil) for coil in ("8 mm, inside 8.4 mm", "8 mm outside 10.8 mm")
    )
    assert inside == outside
    assert [row["mandrel"] for row in inside] == ["4.75 mm", "3/16 in", "5 mm", "13/64 in"]
    came = [float(row["inside_mm"]) for row in inside]
    assert came == sorted(came)
    assert came[1] < 5 < came[2]
    assert all(float(row["inside_mm"]) > float(row["mandrel_mm"]) for row in inside)
    sawn = rows(capsys, *words, "8 mm, inside 8.4 mm", "--saw", "0.5 mm")
    for row in sawn:  # 0.5 mm out of the round are 0.5 / 3.1416 mm of the diameter
        less = float(row["coil_inside_mm"]) - float(row["inside_mm"])
        assert less == pytest.approx(0.1592, abs=2e-4)


def test_mandrel_for_an_inside_says_which_it_was_asked_for(capsys: Out) -> None:
    words = ("mandrel", "--wire", "1.2 mm", "--inside", "5 mm", "--metal", "half-hard copper")
    assert main([*words]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "For an inside of 5 mm half-hard copper takes one of 4.9 mm. Nearest on sale:" in told


def test_mandrel_for_a_span_of_ar_gives_every_ring_in_it(capsys: Out) -> None:
    """Of wire of 1 mm AR 4 to 5 is an inside of 3.95 to 5.05 mm, which count as 4.0 and 5.0."""
    words = ("mandrel", "--wire", "1 mm", "--coil", "8 mm, inside 8.4 mm", "--ar")
    found = rows(capsys, *words, "4 to 5")
    assert {row["verdict"] for row in found} == {"fits"}
    assert all(3.95 <= float(row["inside_mm"]) < 5.05 for row in found)
    assert rows(capsys, *words, "4-5") == found
    for wrong in ("5 to 4", "0", "x", "4 to 5 to 6"):
        assert main([*words, wrong]) == 2
        assert capsys.readouterr().err == (
            f"ringstep: --ar: '{wrong}' is not read; write it as in --ar 4.5 or --ar '4 to 5'\n"
        )


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--ring", "A"], "--ring names something of a recipe; name the recipe too"),
        (["--size", "A"], "--size names something of a recipe; name the recipe too"),
        (["--metal", "copper"], "say which wire: --wire '1.2 mm' or --wire '18 swg', or name a"
         " recipe"),
        (["--wire", "1 mm", "--metal", "copper"], "say which mandrel you have, --mandrel '8 mm', or"
         " what ring you want: --ar '4 to 5' or --inside '5 mm', or name a recipe"),
        (["--wire", "1 mm", "--coil", "x" * 50, "--ar", "4"], f"--coil: '{'x' * 40}' is not read;"
         " write the mandrel and how wide the coil came out, as in --coil '8 mm, inside 8.4 mm' or"
         " --coil '8 mm, outside 10.8 mm'"),
    ],
)  # fmt: skip
def test_mandrel_asks_for_what_is_missing(words: list[str], told: str, capsys: Out) -> None:
    assert main(["mandrel", *words]) == 2
    assert capsys.readouterr().err == f"ringstep: {told}\n"


# -- kit -------------------------------------------------------------------------------------------


def test_kit_of_several_takes_the_number_behind_each(folder: Path, capsys: Out) -> None:
    """31 rings a chain of 30 units, 70 for two with a tenth more of 62; a file called so first."""
    (folder / "two.weave").write_text(DOUBLED)
    words = ("kit", "it.weave", "two.weave=3", "--pieces", "2", "--spares", "10")
    one, other = rows(capsys, *words)
    assert one["name"] == "A of Simple chain"
    assert other["name"] == "A of Doubled chain"
    assert (one["all_kits"], other["all_kits"]) == ("70", "318")
    (folder / "it.weave=3").write_text(SIMPLE)
    assert kit._recipe_and_pieces("it.weave=3", "2") == ("it.weave=3", "2")
    assert kit._recipe_and_pieces("it.weave=4", "2") == ("it.weave", "4")
    assert kit._recipe_and_pieces("a=b.weave=4", "2") == ("a=b.weave", "4")


def test_kit_of_two_of_one_title_tells_them_apart_by_file(folder: Path, capsys: Out) -> None:
    (folder / "same.weave").write_text(SIMPLE)
    assert main(["kit", "it.weave", "same.weave", "--column", "price=x"]) == 2
    assert capsys.readouterr().err == (
        "ringstep: --column names a column of a price list; name the list with --prices\n"
    )
    assert main(["kit", "it.weave", "same.weave"]) == 0
    out = capsys.readouterr().out
    assert "\nSimple chain (same.weave)" in out
    assert out.startswith("Simple chain (it.weave)")
    slip = ("--slip", "slip.html")
    assert main(["kit", "it.weave", *slip]) == 0
    assert capsys.readouterr().out.endswith(
        "\n\nwrote slip.html: open it in a browser and print it\n"
    )
    assert main(["kit", "it.weave", "--slip", "it.weave"]) == 2
    assert capsys.readouterr().err.startswith("ringstep: it.weave is a recipe and is left as it is")


# -- fit -------------------------------------------------------------------------------------------


def test_fit_hands_on_what_was_typed_and_keeps_what_it_found(monkeypatch: Patch) -> None:
    """Asked for again it is read, and with --again worked out anew."""
    asked: list[tuple[object, ...]] = []
    store: dict[tuple[object, ...], object] = {}
    laid: Any = SimpleNamespace(cell="cell")

    def search(cell: object, *, seed: int, effort: int, progress: Any, worked: Any) -> object:
        asked.append((cell, seed, effort, worked.args))
        progress("search", 0, 2, 0.0)
        progress("search", 1, 2, 3.45678)
        return SimpleNamespace(cell=cell, seed=seed, effort=effort)

    def put(made: Any) -> None:
        store[made.fit.cell, made.fit.seed, made.fit.effort] = made

    monkeypatch.setattr("ringstep.space.fit.fit", search)
    monkeypatch.setattr("ringstep.paper.fit_report.kept", lambda fit: SimpleNamespace(fit=fit))
    monkeypatch.setattr(fit_store, "get", lambda *key: store.get(key))
    monkeypatch.setattr(fit_store, "put", put)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setattr(sys, "stderr", shown := Terminal())
    args: Any = SimpleNamespace(seed=5, effort=2, again=False, file="it.weave")
    made = fit._made(laid, args)
    assert asked == [("cell", 5, 2, (laid,))]
    assert shown.getvalue().split("\r")[:3] == [
        "search 1 of 2 (Ctrl-C keeps the best so far)",
        "search 2 of 2, smallest AR so far 3.457 (Ctrl-C keeps the best so far)",
        f"{'drawing':<70}",
    ]
    assert fit._made(laid, args) is made
    assert len(asked) == 1
    args.again = True
    assert fit._made(laid, args) is not made
    assert len(asked) == 2

    def refused(*_: object, **__: object) -> None:
        raise CellError("its rings are too many")

    monkeypatch.setattr("ringstep.space.fit.fit", refused)
    with pytest.raises(fit.Stop) as stopped:
        fit._made(laid, args)
    assert str(stopped.value) == "it.weave cannot be laid out: its rings are too many"


@pytest.mark.parametrize(
    ("finished", "effort", "told"),
    [
        (False, 1, "broken off before any layout was found"),
        (True, 1, "no layout of x was found, which does not prove there is none; try --effort 2"),
        (True, 2, "no layout of x was found, which does not prove there is none; try --effort 3"),
        (True, 3, "no layout of x was found, which does not prove there is none; try another"
         " --seed"),
    ],
)  # fmt: skip
def test_fit_without_a_form_says_what_to_try(finished: bool, effort: int, told: str) -> None:
    made: Any = SimpleNamespace(fit=SimpleNamespace(forms=(), finished=finished))
    args: Any = SimpleNamespace(effort=effort, file="x")
    with pytest.raises(fit.Stop) as stopped:
        fit._must_have_forms(made, args)
    assert str(stopped.value) == told
    made.fit.forms = ("one",)
    fit._must_have_forms(made, args)


# -- weaves and new --------------------------------------------------------------------------------


def test_weaves_are_copied_into_a_folder_and_new_ones_begun(folder: Path, capsys: Out) -> None:
    (folder / "in").mkdir()
    assert main(["weaves", "--copy", "byzantine.weave", "--to", "in"]) == 0
    assert capsys.readouterr().out == (
        "wrote in/byzantine.weave; now try: ringstep check in/byzantine.weave\n"
    )
    assert Path("in/byzantine.weave").read_text("utf-8") == shipped_recipes()["byzantine"]
    assert main(["new", "a cuff.weave", "--kind", "sheet"]) == 0
    assert capsys.readouterr().out == (
        "wrote a cuff.weave; now try: ringstep check 'a cuff.weave'\n"
    )
    assert "\npiece:\n  sheet " in Path("a cuff.weave").read_text("utf-8")
    for name in ("", "in/", "..", ".", "x\\"):
        assert main(["new", name]) == 2
        assert capsys.readouterr().err.startswith("ringstep: ")
    assert sorted(p.name for p in folder.iterdir()) == ["a cuff.weave", "in", "it.weave"]
