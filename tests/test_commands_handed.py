"""What hand-outs take of recipes and options, and logs and folders take of files."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from helpers import BYZANTINE, PERSIAN_LINKED, SIMPLE, SPIRAL, view
from test_commands import Out, Patch

from ringstep.commands import handout, sample_store
from ringstep.commands.cli import main
from ringstep.commands.explain import _speaks_of
from ringstep.commands.leftovers import leftovers, marked
from ringstep.commands.recipe_folder import RecipeFolder
from ringstep.commands.rim import Stop

# -- handout ---------------------------------------------------------------------------------------

BOTH_LAYS = (
    SPIRAL.replace("start:", "variants:\n  near  lay front\n  far  lay back\nstart:")
    .replace("there lay front", "there lay varies")
    .replace("60 units", "60 units\n  variant near")
)


def options(**more: Any) -> Any:
    """What is typed after `handout`, of one file where nothing else is said."""
    plain = {
        "files": ["it.weave"], "variant": None, "all_variants": False, "pictures": "none",
        "left_handed": False, "rings": "none", "draft": False, "screen": False, "to": None,
        "pdf": False,
    }  # fmt: skip
    return SimpleNamespace(**plain | more)


def chosen(text: str, **more: Any) -> list[str]:
    """The variants that are printed of a recipe."""
    found = handout._chosen(view(text), options(**more))
    return [one.chosen.name if one.chosen else "" for one in found]


def test_handout_prints_the_variants_that_were_named_each_once() -> None:
    assert chosen(PERSIAN_LINKED) == ["zigzag"]
    assert chosen(PERSIAN_LINKED, variant=["calm", "mirror", "calm"]) == ["calm", "mirror"]
    assert chosen(PERSIAN_LINKED, all_variants=True) == ["calm", "mirror", "zigzag"]
    assert chosen(PERSIAN_LINKED, all_variants=True, files=["a", "b"]) == [
        "calm", "mirror", "zigzag",
    ]  # fmt: skip
    assert chosen(SIMPLE, all_variants=True, files=["a", "b"]) == [""]
    with pytest.raises(Stop) as stopped:
        chosen(SIMPLE, all_variants=True)
    assert str(stopped.value) == "it.weave has no variants; leave out --all-variants"


def test_handout_keeps_the_pictures_of_several_weaves_apart_by_name() -> None:
    both = options(pictures="both", files=["a.weave", "b.weave"], variant=["near", "far"])
    names = [
        {diagram.name.partition("-")[0] for diagram in one.diagrams.values()}
        for one in handout._editions(view(BOTH_LAYS), 1, both)
    ]
    assert names == [{"v1"}, {"v2"}]
    (one,) = handout._editions(view(SIMPLE), 2, options(pictures="both", files=["a", "b"]))
    assert {diagram.name[:5] for diagram in one.diagrams.values()} == {"w2-1-"}
    assert [number for number in one.diagrams if number > 0] == [1, 2]
    assert one.scenes == {}
    (bare,) = handout._editions(view(SIMPLE), 1, options())
    assert bare.diagrams == {}
    empty = view(SIMPLE.replace("close A", "").replace("  add A through prev A\n", ""))
    with pytest.raises(Stop) as stopped:
        handout._editions(empty, 2, options(files=["a.weave", "b.weave"]))
    assert str(stopped.value) == "b.weave has no steps, so there is nothing to hand out"


@pytest.mark.parametrize(
    ("more", "page"),
    [
        ({}, "it-handout.html"),
        ({"screen": True}, "it-follow.html"),
        ({"files": ["-"]}, "recipe-handout.html"),
        ({"files": ["it.weave", "b.weave"]}, "booklet.html"),
        ({"to": "."}, "it-handout.html"),
        ({"to": "x.html"}, "x.html"),
        ({"to": "x.PDF", "pdf": True}, "x.html"),
    ],
)
def test_handout_goes_where_it_was_sent(more: dict[str, Any], page: str, folder: Path) -> None:
    assert handout._targets(options(**more)) == (Path(page), Path(page).with_suffix(".pdf"))


def test_handout_that_is_to_be_a_pdf_needs_the_word_for_it(folder: Path) -> None:
    with pytest.raises(Stop) as stopped:
        handout._targets(options(to="x.pdf"))
    told = "x.pdf is to be a PDF: add --pdf, or name a file that ends in .html"
    assert str(stopped.value) == told


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--screen", "--pdf"], "--screen is for one weave on one page"),
        (["--screen", "--all-variants"], "--screen is for one weave on one page"),
        (["b.weave", "--screen"], "--screen is for one weave on one page"),
        (["b.weave", "--draft"], "--draft, --teacher and --variant are for one recipe"),
        (["b.weave", "--teacher"], "--draft, --teacher and --variant are for one recipe"),
        (["b.weave", "--variant", "x"], "--draft, --teacher and --variant are for one recipe"),
    ],
)
def test_handout_says_which_options_do_not_go_together(
    words: list[str], told: str, folder: Path, capsys: Out
) -> None:
    (folder / "b.weave").write_text(BYZANTINE)
    assert main(["handout", "it.weave", *words]) == 2
    assert capsys.readouterr().err.startswith(f"ringstep: {told}")
    assert sorted(os.listdir()) == ["b.weave", "it.weave"]


# -- logs of samples -------------------------------------------------------------------------------


def test_sample_store_takes_no_more_than_may_be(folder: Path, monkeypatch: Patch) -> None:
    entry: Any = SimpleNamespace(text="2024-03-01; a line")
    path = Path("it.samples")
    sample_store.add_sample(path, entry)
    first = path.read_bytes()
    assert first.startswith(b"#")
    assert b"it.weave" in first
    assert first.endswith(b"\n2024-03-01; a line\n")
    monkeypatch.setattr(sample_store, "_MOST_BYTES", len(first) + 19)
    sample_store.add_sample(path, entry)
    assert path.read_bytes() == first + b"2024-03-01; a line\n"
    with pytest.raises(Stop) as stopped:
        sample_store.add_sample(path, entry)
    assert str(stopped.value) == "it.samples is full; give it another name and begin a new one"
    monkeypatch.setattr(sample_store, "_MOST_BYTES", len(first) + 18)
    with pytest.raises(Stop, match="is too long for a log of samples, which has at most"):
        sample_store.read_samples(path)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (b"# mine\r\n", b"# mine\r\nx\r\n"),
        (b"# mine\r\n# last", b"# mine\r\n# last\r\nx\r\n"),
        (b"# mine", b"# mine\nx\n"),
        (b"# mine\r", b"# mine\rx\n"),
        (b"\xef\xbb\xbf# mine\n", b"\xef\xbb\xbf# mine\nx\n"),
    ],
)
def test_sample_store_adds_a_line_as_the_log_ends_its_lines(
    before: bytes, after: bytes, folder: Path
) -> None:
    Path("it.samples").write_bytes(before)
    entry: Any = SimpleNamespace(text="x")
    sample_store.add_sample(Path("it.samples"), entry)
    assert Path("it.samples").read_bytes() == after


def test_sample_store_waits_for_another_and_gives_up(folder: Path, monkeypatch: Patch) -> None:
    clock = [0.0]
    waits: list[float] = []

    def sleep(seconds: float) -> None:
        waits.append(seconds)
        clock[0] += 5

    held = SimpleNamespace(monotonic=lambda: clock[0], sleep=sleep)
    monkeypatch.setattr(sample_store, "time", held)
    tries = iter([BlockingIOError, PermissionError, FileExistsError, None])

    def locked(place: Path) -> int:
        assert place == folder.resolve()
        if fault := next(tries):
            raise fault
        return os.open(place, os.O_RDONLY)

    monkeypatch.setattr(sample_store, "_locked", locked)
    with sample_store._alone(Path("it.samples")):
        assert waits == [0.02] * 3
    tries = iter([BlockingIOError] * 9)
    with pytest.raises(Stop) as stopped, sample_store._alone(Path("it.samples")):
        pass
    assert str(stopped.value) == "another program is writing beside it.samples; try again"
    assert clock[0] == 15 + 25  # after more than 20 seconds of its own
    tries = iter([OSError])
    with sample_store._alone(Path("it.samples")):
        waits.clear()
    assert waits == []


def test_sample_store_knows_a_log_by_its_recipe() -> None:
    for name, log in (("a.weave", "a.samples"), ("b/a.weave.weave", "b/a.weave.samples"),
                      ("a", "a.samples")):  # fmt: skip
        assert sample_store.log_of(name) == Path(log)
    seen = view(SIMPLE)
    assert all(sample_store.with_samples(seen, name) is seen for name in ("-", "", "none.weave"))


# -- folders ---------------------------------------------------------------------------------------


def test_leftovers_are_pictures_of_this_recipe_that_are_drawn_no_more(tmp_path: Path) -> None:
    end = b"\x00\x00\x00\x00IEND\xaeB`\x82"
    drawn = {"step-1.svg": b"<svg/>", "step-2.dot": b"graph", "unit.png": b"png" + end,
             "step-3.svg": b"<svg/>"}  # fmt: skip
    made = marked(drawn, "cuff")
    assert made["step-1.svg"].startswith(b"<svg/>")
    assert made["unit.png"].endswith(end)
    assert made["unit.png"].count(end) == 1
    others = {"step-4.svg": marked({"step-4.svg": b"<svg/>"}, "cuffs")["step-4.svg"],
              "step-5.svg": b"<svg/>", "mine.svg": made["step-1.svg"],
              "rings-1.svg": made["step-1.svg"]}  # fmt: skip
    for name, data in (made | others).items():
        (tmp_path / name).write_bytes(data)
    (tmp_path / "step-6.svg").symlink_to("step-1.svg")
    (tmp_path / "step-7.svg").mkdir()
    assert [p.name for p in leftovers(tmp_path, ["step-3"], "cuff")] == [
        "step-1.svg", "step-2.dot", "unit.png",
    ]  # fmt: skip
    assert [p.name for p in leftovers(tmp_path, (), "cuff", rings=True)] == ["rings-1.svg"]
    assert leftovers(tmp_path / "none", (), "cuff") == []


def test_recipe_folder_keeps_a_draft_for_those_who_may_read_its_recipe(
    bench: RecipeFolder,
) -> None:
    recipe, draft = bench.root / "cuff.weave", bench.root / ".cuff.weave.draft"
    recipe.chmod(0o440)
    bench.keep_draft("cuff.weave", "half a word")
    assert stat.S_IMODE(draft.stat().st_mode) == 0o640
    os.utime(draft, (0, 86_400 * 366))
    kept = bench.draft("cuff.weave")
    assert kept
    assert (kept.text, kept.kept[:8]) == ("half a word", "1971-01-")
    bench.drop_draft("cuff.weave")
    bench.drop_draft("cuff.weave")
    assert bench.draft("cuff.weave") is None


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("", "it names no file"),
        ("..", "it names no file"),
        ("a\\b.weave", "leave out '/', '\\' and ':'; a file lies directly in the folder"),
        ("a\x07.weave", "it holds a mark that cannot be shown"),
        (".a.weave", "it begins with a full stop, and such files are hidden"),
        ("a.weave ", "it ends with a full stop or a blank, which Windows leaves out"),
        ("LPT1 .weave", "Windows takes it for the name of a device"),
        ("ä" * 98 + ".weave", "it is too long"),
    ],
)
def test_recipe_folder_takes_no_name_that_some_machine_cannot_keep(
    name: str, why: str, bench: RecipeFolder
) -> None:
    with pytest.raises(Stop) as stopped:
        bench.page(name)
    assert str(stopped.value) == f"'{name}' cannot be used: {why}"
    assert bench.new("ä" * 97, SIMPLE) == "ä" * 97 + ".weave"  # 200 bytes
    assert bench.new(" console ", SIMPLE) == "console.weave"


# -- explain ---------------------------------------------------------------------------------------


def test_explain_finds_rules_that_quote_a_word_before_their_examples() -> None:
    prose = "It says 'picks 3' and lays.\n\nWrong:\n  'lay front'\n"
    assert _speaks_of("picks", prose)
    assert _speaks_of("PICKS", prose)
    assert not _speaks_of("pick", prose)
    assert not _speaks_of("lays", prose)
    assert not _speaks_of("lay", prose)
    assert not _speaks_of("up", "ring's 'start-up' rings'")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["completion", "ksh"], "invalid choice: 'ksh' (choose from"),
        (["draw", "it.weave", "--format", "gif"], "invalid choice: 'gif' (choose from"),
    ],
)
def test_completion_and_draw_know_what_may_be_chosen(
    words: list[str], told: str, folder: Path, capsys: Out
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 2
    assert told in capsys.readouterr().err
