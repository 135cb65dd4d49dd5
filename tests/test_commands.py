"""What commands say, write and ask, by their exact words: on a terminal and elsewhere."""

from __future__ import annotations

import io
import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from helpers import BYZANTINE, DOUBLED, PERSIAN, PERSIAN_LINKED, SIMPLE, view

from ringstep.checks.view import View
from ringstep.commands import handout
from ringstep.commands.cli import main
from ringstep.language.source import Refused
from ringstep.paper import panel
from ringstep.paper.page import Enclosed

Out = pytest.CaptureFixture[str]
Patch = pytest.MonkeyPatch


class Terminal(io.StringIO):
    """A terminal: what is typed on it, or what is shown there."""

    def isatty(self) -> bool:
        return True


# -- alike -----------------------------------------------------------------------------------------


def told_alike(capsys: Out, *files: str) -> tuple[int, list[str]]:
    """The exit code, and the lines without marks and without what is said of shipped weaves."""
    code = main(["alike", *files])
    lines = capsys.readouterr().out.splitlines()
    return code, [line for line in lines if "mark" not in line]


def test_alike_names_each_variant_and_what_is_one_link_away(folder: Path, capsys: Out) -> None:
    (folder / "linked.weave").write_text(PERSIAN_LINKED)
    (folder / "plain.weave").write_text(PERSIAN)
    code, lines = told_alike(capsys, "linked.weave", "plain.weave")
    assert (code, lines) == (1, [
        "linked.weave, calm and plain.weave: not the same links",
        "linked.weave, mirror and plain.weave: not the same links",
        "linked.weave, zigzag and plain.weave: not the same links",
        "linked.weave has the links of plain.weave with M1 and M2 linked",
    ])  # fmt: skip
    code, lines = told_alike(capsys, "it.weave", "it.weave")
    assert (code, lines) == (0, ["it.weave and it.weave: the same links"])


def test_alike_has_a_mark_for_each_weave_and_each_text_or_says_that_it_has_none(
    folder: Path, capsys: Out, monkeypatch: Patch
) -> None:
    (folder / "again.weave").write_text(SIMPLE.replace("Simple chain", "Chain"))
    assert main(["alike", "it.weave", "again.weave"]) == 0
    weave, text, other, another, _ = capsys.readouterr().out.splitlines()
    assert weave.startswith("it.weave: weave mark ")
    assert weave.removeprefix("it") == other.removeprefix("again")
    assert text.startswith("it.weave: text mark ")
    assert text.removeprefix("it") != another.removeprefix("again")
    monkeypatch.setattr("ringstep.weave.marks.weave_mark", lambda _: None)
    main(["alike", "it.weave", "again.weave"])
    told = "weave mark none, since it is too large or nothing links its rings"
    assert capsys.readouterr().out.splitlines()[0] == f"it.weave: {told}"


def test_alike_looks_among_the_shipped_weaves(
    folder: Path, capsys: Out, monkeypatch: Patch
) -> None:
    library = Path(__file__).parent.parent / "library"
    few = {n: library / f"{n}.weave" for n in ("byzantine", "linked_pairs", "european_4")}
    monkeypatch.setattr("ringstep.language.shipped.shipped_weaves", lambda: few)
    (folder / "pairs.weave").write_text(DOUBLED)
    assert told_alike(capsys, "pairs.weave") == (0, [
        "pairs.weave has the same links as",
        "  byzantine: the same links; the folds differ, so it need not be the same weave",
        "pairs.weave has the links of",
        "  linked_pairs without the link between A1 and A2",
    ])  # fmt: skip
    few = {"european_4": library / "european_4.weave"}
    assert told_alike(capsys, "it.weave") == (0, ["it.weave: no shipped weave has the same links"])


# -- check -----------------------------------------------------------------------------------------


def test_what_cannot_be_read_is_a_finding_at_its_first_letter(folder: Path, capsys: Out) -> None:
    assert main(["check", "none.weave", "it.weave", "--json"]) == 2
    out, err = capsys.readouterr()
    unread, clean = json.loads(out)["files"]
    assert (clean, err) == ({"file": "it.weave", "ok": True, "findings": []}, "")
    assert unread == {
        "file": "none.weave",
        "ok": False,
        "findings": [{
            "rule": "unreadable-file", "severity": "error",
            "line": 1, "column": 1, "end_line": 1, "end_column": 1,
            "message": "there is no file none.weave", "help": "", "labels": [], "mends": [],
        }],
    }  # fmt: skip


def test_a_folder_is_summed_up_in_one_line(folder: Path, capsys: Out) -> None:
    broken, wrong = SIMPLE.replace("throuhg", "").replace("meets 2", "meets 3"), b"\xff"
    for number, data in enumerate((broken.encode(), broken.encode(), wrong, SIMPLE.encode())):
        (folder / f"{number}.weave").write_bytes(data)
    assert main(["check", "."]) == 2
    told = capsys.readouterr().out.splitlines()[-1]
    assert told == ".: 5 recipes, 2 have errors and 1 cannot be read"
    (folder / "few").mkdir()
    (folder / "few" / "a.weave").write_text(SIMPLE)
    assert main(["check", "few", "nowhere.weave", "it.weave"]) == 2
    assert "few: 1 recipe, checks clean" in capsys.readouterr().out.splitlines()


# -- handout ---------------------------------------------------------------------------------------


def test_a_pdf_carries_every_recipe_by_a_name_of_its_own(
    folder: Path, capsys: Out, monkeypatch: Patch
) -> None:
    carried: list[Enclosed] = []

    def printed(page: str, enclosed: list[Enclosed]) -> bytes:
        assert "Booklet of weaves" in page
        carried.extend(enclosed)
        return b"a pdf"

    monkeypatch.setattr("ringstep.paper.page.pdf_bytes", printed)
    (folder / "other").mkdir()
    (folder / "other" / "it.weave").write_text(DOUBLED)
    words = ["handout", "it.weave", "other/it.weave", "--pictures", "none", "--pdf"]
    assert main(words) == 0
    assert capsys.readouterr().out == "wrote booklet.html\nwrote booklet.pdf\n"
    assert (folder / "booklet.pdf").read_bytes() == b"a pdf"
    assert [(one.name, one.data) for one in carried] == [
        ("it.weave", SIMPLE.encode()),
        ("2 it.weave", DOUBLED.encode()),
    ]
    main(["alike", "it.weave", "other/it.weave"])
    marks = [line.rpartition(" ")[2] for line in capsys.readouterr().out.splitlines()[1:4:2]]
    assert [one.words for one in carried] == [
        f"the recipe of these pages, text mark {mark}" for mark in marks
    ]


def test_a_pdf_of_what_is_piped_in_calls_it_recipe() -> None:
    source = view(SIMPLE).recipe.source
    assert [one.name for one in handout._enclosed(["-"], [source])] == ["recipe.weave"]


def test_a_page_to_be_a_pdf_is_written_beside_it(
    folder: Path, capsys: Out, monkeypatch: Patch
) -> None:
    monkeypatch.setattr("ringstep.paper.page.pdf_bytes", lambda *_: b"a pdf")
    words = ["handout", "it.weave", "--pictures", "none"]
    assert main([*words, "--pdf", "--to", "x.pdf"]) == 0
    assert capsys.readouterr().out == "wrote x.html\nwrote x.pdf\n"
    assert main([*words, "--screen"]) == 0
    assert capsys.readouterr().out == "wrote it-follow.html\n"
    (folder / "y.pdf").symlink_to("it.weave")
    assert main([*words, "--pdf", "--to", "y.html"]) == 2
    assert capsys.readouterr().err == (
        "ringstep: y.pdf is a recipe and is left as it is; name another file\n"
    )
    assert not (folder / "y.html").exists()


@pytest.mark.parametrize(("tall", "shown"), [(81, True), (80, False), (0, False), (None, False)])
def test_a_fold_left_out_is_shown_where_as_much_can_be_worked(
    tall: int | None, shown: bool, monkeypatch: Patch
) -> None:
    """The right piece is 100 high; the wrong one must be more than four fifths of that."""
    seen, second, turn = view(BYZANTINE), object(), object()
    fit = object()

    def picture(height: int) -> Any:
        return SimpleNamespace(large=str(height))

    def states(wrong: View, known: object, helper: object) -> Any:
        assert (known, helper) == (fit, second)
        assert sum(s.kind == "fold back" for s in wrong.recipe.every_step()) == 1
        return SimpleNamespace(piece="lying")

    def finished(wrong: View, piece: object, looks: object) -> Any:
        assert (wrong.recipe.title, piece, looks) == ("Byzantine chain", "lying", turn)
        return None if tall is None else picture(tall)

    monkeypatch.setattr("ringstep.commands.fit_store.known_fit", lambda _: fit)
    monkeypatch.setattr("ringstep.space.states.states_of", states)
    monkeypatch.setattr("ringstep.paper.finished.finished", finished)
    monkeypatch.setattr(panel, "size_of", lambda svg: (10.0, float(svg)))
    edition: Any = SimpleNamespace(view=seen)
    found = handout._wrong(edition, picture(100), turn, second)  # type: ignore[arg-type]
    assert found == (("step 8 left out every time", picture(tall or 0)) if shown else None)
    edition = SimpleNamespace(view=view(SIMPLE))
    assert handout._wrong(edition, picture(100), turn, second) is None  # type: ignore[arg-type]


def test_a_fold_left_out_that_cannot_be_carried_out_is_not_shown(monkeypatch: Patch) -> None:
    def refused(*_: object) -> None:
        raise Refused("it jams")

    monkeypatch.setattr("ringstep.space.states.states_of", refused)
    edition: Any = SimpleNamespace(view=view(BYZANTINE))
    assert handout._wrong(edition, None, None, None) is None  # type: ignore[arg-type]


# -- sizes -----------------------------------------------------------------------------------------

STOCK = """\
ring,wire,inside,material,colour,count
tin A,1.2 mm,5 mm,copper,,1450
tin B,1.2 mm,7 mm,copper,black,
tin C,1.2 mm,6 mm,,,3
"""


def test_rings_in_stock_are_told_by_colour_metal_and_number(folder: Path, capsys: Out) -> None:
    (folder / "my.csv").write_text(STOCK)
    assert main(["sizes", "it.weave", "--ring", "A", "--stock", "my.csv", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [(one["ring"], one["what"], one["wire_mm"], one["inside_mm"]) for one in told["rings"]] \
        == [
        ("tin A", "copper, 1,450 in stock", 1.2, 5.0),
        ("tin B", "black copper", 1.2, 7.0),
        ("tin C", "3 in stock", 1.2, 6.0),
    ]  # fmt: skip
    assert (told["parts"], told["sets"]) == ([], [])


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--column", "ring=x", "--wire", "1 mm"],
         "--column names a column of a stock list; name the list with --stock"),
        (["--variant", "calm", "--wire", "1 mm"],
         "--variant names a variant of a recipe; name the recipe too"),
        (["it.weave", "--wire", "2 mm", "--inside", "2 mm"],
         "--inside: 2 mm is no wider than the wire, 2 mm; the two may have changed places"),
        (["it.weave", "it.weave"],
         "several recipes are held against a stock list; add --stock, or name one recipe"),
    ],
)  # fmt: skip
def test_what_sizes_cannot_tell(words: list[str], told: str, folder: Path, capsys: Out) -> None:
    assert main(["sizes", *words]) == 2
    assert capsys.readouterr().err == f"ringstep: {told}\n"
