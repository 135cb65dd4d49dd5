"""Tidying: the layout itself, what is kept, and that the recipe stays the same recipe."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path

import pytest
from helpers import EXAMPLES, LIBRARY, SIMPLE, read
from hypothesis import given, settings
from hypothesis import strategies as st
from test_highlighting import COMMENTS, scrawled
from test_properties import mutated, stream

from ringstep.commands.cli import main
from ringstep.language.parse import parse
from ringstep.language.source import Unreadable, source_from_bytes, source_from_text
from ringstep.language.tidy import Unsettled, comments_of, meaning, tidy, tidy_bytes
from ringstep.language.tree import Tree

Out = pytest.CaptureFixture[str]


def tidied(text: str) -> str:
    """A text in the one layout."""
    return "".join(f"{line}\n" for line in tidy(source_from_text(text)).lines)


# -- the layout ------------------------------

MESSY = """\
# drawn up on a train

WEAVE   "Cuff # 1,  first"   # the title


NOTES:
    about  kept,   blanks and all
    sizes      AR 4
    plain words stay a sentence
rings :  # what to buy
      all wire 1.2   mm,inside 6.5 mm , aluminium   # bright
  core1 wire 18  swg, INSIDE 5/16 in # dull
expect:
 M 1 MEETS 2   s,3 core1
  4 Rings A Unit
  m ar 5.60 TO 5.8 , common practice
Variants:
   zigzag lay Front,back
   calm LAY front
 # a deep comment
# a comment at the margin
Unit  :
\tadd 2 M picks 2 skip at  EDGE lay back through prev S,core1 if there, M 2 around  core 1
     # about the hint
  HINT  go   in, THERE   # not the other way
\tTurn   over
finish:

 take out first H ,last h

piece:
  chain 24 Units

"""
NEAT = """\
# drawn up on a train

weave "Cuff # 1,  first"  # the title

notes:
  about  kept,   blanks and all
  sizes  AR 4
  plain words stay a sentence
rings:  # what to buy
  all     wire 1.2 mm, inside 6.5 mm, aluminium  # bright
  core 1  wire 18 swg, inside 5/16 in            # dull
expect:
  M1 meets 2 s, 3 core1
  4 rings a unit
  m AR 5.60 to 5.8, common practice
variants:
  zigzag  lay front, back
  calm    lay front
  # a deep comment
# a comment at the margin
unit:
  add 2 M through prev S, core 1 if there, M2 around core 1 picks 2 lay back skip at edge
    # about the hint
    hint go   in, THERE  # not the other way
  turn over
finish:

  take out first H, last h

piece:
  chain 24 units
"""


def test_a_messy_recipe_in_the_one_layout() -> None:
    assert tidied(MESSY) == NEAT
    assert tidied(NEAT) == NEAT


@pytest.mark.parametrize(
    "path", sorted([*LIBRARY.glob("*.weave"), *EXAMPLES.glob("*.weave")]), ids=lambda p: p.stem
)
def test_what_is_shipped_is_tidy(path: Path) -> None:
    data = path.read_bytes()
    assert tidy_bytes(data, path.name)[0] == data


def test_options_are_put_in_order_and_their_lists_are_not() -> None:
    step = "unit:\n  add B lay front picks 3 inside Z, Y through prev B, A, prev A\n"
    assert tidied(step) == (
        "unit:\n  add B through prev B, A, prev A inside Z, Y picks 3 lay front\n"
    )


def test_a_gauge_mark_is_never_made_of_a_comment() -> None:
    """'#1' behind a name that ends in 'wire' would be read as a gauge once it stood there."""
    step = "unit:\n  add A inside guidewire through B  #1 of two\n"
    assert tidied(step) == step


@pytest.mark.parametrize(
    ("written", "neat"),
    [
        ("add A1,A2 through M 1", "add A1, A2 through M1"),
        ("add core1 through core 12", "add core 1 through core 12"),
        ("add 2 core1 through A", "add 2 core1 through A"),
        ("add M01 through A", "add M01 through A"),
        ("add 環2 through 環 1", "add 環2 through 環1"),
        ("add A through B1 2", "add A through B1 2"),
        ("add A through edge", "add A through edge"),
    ],
)
def test_names_of_rings(written: str, neat: str) -> None:
    assert tidied(f"unit:\n{written}\n") == f"unit:\n  {neat}\n"


def test_marks_of_other_scripts_become_ours_and_stay_in_the_authors_words() -> None:
    text = "notes：\n about  甲：乙，丙\nunit：\n add A through B，C\n hint 穿過：甲，乙\u3000丙\n"
    assert tidied(text) == (
        "notes:\n  about  甲：乙，丙\nunit:\n  add A through B, C\n    hint 穿過：甲，乙\u3000丙\n"
    )


@pytest.mark.parametrize(
    ("written", "neat"),
    [
        ("hint : go in", "hint go in"),
        ("HINT: go in: both", "hint go in: both"),
        ("hint close it:", "hint close it:"),
        ("hint unit:", "hint unit:"),
        ("hint ：右：", "hint 右："),
        ("hint :", "hint"),
        ("hint ::", "hint"),
    ],
)
def test_a_hint_may_hold_colons(written: str, neat: str) -> None:
    text = f"unit:\n  add A\n  {written}\n"
    assert tidied(text) == f"unit:\n  add A\n    {neat}\n"
    step = parse(source_from_text(text))[0].blocks[0].steps[0]
    assert step.hint == neat.removeprefix("hint").strip()


def test_wide_names_line_up_on_a_screen() -> None:
    assert tidied("rings:\n 環 tin\n A tin\n") == "rings:\n  環  tin\n  A   tin\n"


def test_the_lines_that_changed_are_told() -> None:
    text = "unit:\n\n\n add A\n  add B\n\n"
    assert tidy(source_from_text(text)).changed == (3, 4, 6)
    assert tidy(source_from_text("unit:\n  add A")).changed == (2,)
    assert tidy(source_from_text("unit:\n  add A\n")).changed == ()


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("unit:\n  ad A\n", "line 2 cannot be read"),
        ("unti:\n  add A\n", "line 1 cannot be read: there is no section 'unti'"),
        ("unit:\n  hint first\n  add A\n", "line 2 cannot be read: this hint stands before"),
        ("unit:\n  add A\nunit:\n  add B\n", "line 3 cannot be read: there are two"),
    ],
)
def test_a_line_that_cannot_be_read_leaves_the_text_alone(text: str, why: str) -> None:
    with pytest.raises(Unsettled, match=why):
        tidy(source_from_text(text))


def test_a_draft_without_all_its_sections_can_be_tidied() -> None:
    assert tidied("unit:\n add A through prev A\n") == "unit:\n  add A through prev A\n"
    assert tidied("") == ""
    assert tidied("\n # only a comment\n\n") == "# only a comment\n"


# -- bytes: marks, encodings, line ends ------------------------------


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_encoding_mark_and_line_ends_stay(end: str, encoding: str) -> None:
    messy, neat = (t.replace("\n", end).encode(encoding) for t in (MESSY, NEAT))
    assert tidy_bytes(messy, "x")[0] == neat
    assert tidy_bytes(neat, "x")[0] == neat


def test_the_commoner_of_two_line_ends_is_kept() -> None:
    assert tidy_bytes(b"unit:\r\n  add A\r\n  add B\n", "x")[0].count(b"\r\n") == 3


# -- whatever is written ------------------------------


def settles(text: str) -> None:
    """All that must hold of a text that can be tidied; one that cannot is refused in words."""
    source = source_from_text(text)
    lines: tuple[str, ...] = ()
    refused = ""
    try:
        lines = tidy(source).lines
    except Unsettled as fault:
        refused = str(fault)
    if refused:
        assert "cannot be read" in refused, "the net under it caught something"
        return
    after = source_from_text("".join(f"{line}\n" for line in lines))
    assert _told(read(text)[0]) == _told(read(after_text := "\n".join(lines))[0])
    assert comments_of(after) == comments_of(source)
    assert tidy(source_from_text(after_text)).lines == lines
    assert all(line == line.rstrip() for line in lines)


def _told(recipe: Tree) -> str:
    """A recipe as its tree is printed, without places: another way round than `meaning`."""
    told = re.sub(r"source=Source\(.*?\), title=", "", repr(recipe))
    return re.sub(r"Span\([^)]*\)", "", told)


def test_the_measure_itself_tells_recipes_apart() -> None:
    one, other = read(SIMPLE)[0], read(SIMPLE.replace("prev A", "prev prev A"))[0]
    moved = read(f"\n\n{SIMPLE}")[0]
    assert _told(one) != _told(other)
    assert meaning(one) != meaning(other)
    assert _told(one) == _told(moved)
    assert meaning(one) == meaning(moved)


@given(scrawled())
@settings(max_examples=70)
def test_a_scrawled_recipe_is_tidied_and_stays_itself(text: str) -> None:
    assert tidy(source_from_text(text)).lines  # every one of them can be read
    settles(text)


NAMES = st.sampled_from(["A", "M1", "M 2", "core", "core 1", "core12", "環", "edge", "softwire"])
PLACED = st.builds("{} {}".format, st.sampled_from(["prev", "ABOVE next", "last", "first"]), NAMES)
REF = st.one_of(NAMES, PLACED, PLACED.map("{} if  there".format))
REFS = st.lists(REF, min_size=1, max_size=3).map(" ,".join)
SIZE = st.sampled_from(["1.2   mm", "3/16 in", "18 swg", "5  mm"])


@st.composite
def placing(draw: st.DrawFn) -> str:
    """A step that places rings, with any options in any order."""
    lists = [draw(REFS), draw(REFS)]
    options = [f"through {lists[0]}", f"around {lists[1]}", "picks 3", "lay front", "skip at edge"]
    chosen = draw(st.lists(st.sampled_from(options), unique=True, max_size=5))
    new = draw(st.one_of(NAMES, st.sampled_from(["2 A", "12  B", "3 core"])))
    return "  ".join([draw(st.sampled_from(["add", "close", "ADD"])), new, *chosen])


STEP = st.one_of(
    placing(),
    st.builds("{} {}".format, st.sampled_from(["fold  back", "Spread", "take out"]), REFS),
    st.builds("reopen {}".format, REF),
    st.sampled_from(["turn over", "tighten", "hint through the eye,  then up", "hint"]),
)
LINES = {
    "rings": st.builds("{} wire {},inside {} , copper".format, NAMES, SIZE, SIZE),
    "parts": st.builds("{} lobster  claw,opens".format, NAMES),
    "expect": st.one_of(
        st.builds("{} {}".format, NAMES, st.sampled_from(["meets 2 A,3  B", "ar 5 to 6.50,mine"])),
        st.sampled_from(["repeats every 2 units", "4 rings a unit", "zig1 repeats every 1 unit"]),
    ),
    "variants": st.builds("{} lay front,back".format, st.sampled_from(["zig", "calm", "zig1"])),
    "notes": st.sampled_from(["about  this one", "a sentence", "sizes\tAR 4", "one", "unit of 4"]),
    "piece": st.sampled_from(["chain 24 units", "rows back  and forth", "order a ,b", "variant a"]),
}


@st.composite
def written(draw: st.DrawFn) -> str:
    """A recipe made up section by section; it can be read, whatever it means."""
    lines = []
    for section in draw(st.permutations([*LINES, "start", "unit", "unit 1", "row  end"])):
        found = draw(st.lists(LINES.get(section, STEP), min_size=1, max_size=4))
        if section not in LINES:
            found.insert(0, "add A")
        if section == "piece":
            found = found[:1]
        lines += [f"{section}:", *found]
    return "\n".join(f"{line}{draw(COMMENTS)}" for line in lines)


@given(written())
@settings(max_examples=60)
def test_a_made_up_recipe_is_tidied_and_stays_itself(text: str) -> None:
    settles(text)


@given(st.one_of(mutated(), stream))
@settings(max_examples=150)
def test_a_recipe_with_a_few_things_changed(text: str) -> None:
    settles(text)


@given(st.text(max_size=120))
@settings(max_examples=100)
def test_any_text(text: str) -> None:
    settles(text)


# -- the command ------------------------------


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_file_is_written_anew(folder: Path, capsys: Out) -> None:
    path = folder / "cuff.weave"
    path.write_bytes(MESSY.replace("\n", "\r\n").encode())
    path.chmod(0o640)
    assert main(["tidy", "cuff.weave"]) == 0
    assert path.read_bytes() == NEAT.replace("\n", "\r\n").encode()
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert [p.name for p in folder.iterdir()] == ["cuff.weave"]
    out, err = capsys.readouterr()
    assert out.startswith("cuff.weave: tidied, ")
    assert err == ""


def test_a_tidy_file_is_not_touched(folder: Path, capsys: Out) -> None:
    path = folder / "cuff.weave"
    path.write_text(NEAT, encoding="utf-8")
    os.utime(path, (1, 1))
    before = path.stat()
    assert main(["tidy", "cuff.weave"]) == 0
    assert (path.stat().st_mtime, path.stat().st_ino) == (1, before.st_ino)
    assert capsys.readouterr().out == "cuff.weave: tidy already\n"


def test_what_cannot_be_read_is_not_touched_and_the_others_are_done(
    folder: Path, capsys: Out
) -> None:
    (folder / "a.weave").write_text("unit:\n ad A\n", encoding="utf-8")
    (folder / "b.weave").write_text("unit:\n add A\n", encoding="utf-8")
    assert main(["tidy", "a.weave", "nowhere.weave", "b.weave"]) == 2
    assert (folder / "a.weave").read_text(encoding="utf-8") == "unit:\n ad A\n"
    assert (folder / "b.weave").read_text(encoding="utf-8") == "unit:\n  add A\n"
    out, err = capsys.readouterr()
    assert out == "b.weave: tidied, line 2\n"
    first, second = err.splitlines()
    assert first.startswith("ringstep: a.weave is left as it is: line 2 cannot be read: ")
    assert second == "ringstep: there is no file nowhere.weave"


def test_check_only_tells(folder: Path, capsys: Out) -> None:
    path = folder / "cuff.weave"
    path.write_text("unit:\n\n\n add  A\n  add B\n", encoding="utf-8")
    assert main(["tidy", "--check", "cuff.weave"]) == 1
    assert path.read_text(encoding="utf-8") == "unit:\n\n\n add  A\n  add B\n"
    assert capsys.readouterr().out == "cuff.weave: would change on lines 3 and 4\n"
    path.write_text("unit:\n\n  add A\n", encoding="utf-8")
    assert main(["tidy", "--check", "cuff.weave"]) == 0
    assert capsys.readouterr().out == "cuff.weave: tidy already\n"


def test_line_ends_alone_are_told_too(folder: Path, capsys: Out) -> None:
    (folder / "cuff.weave").write_bytes(b"unit:\r\n  add A\n  add B\r\n")
    assert main(["tidy", "--check", "cuff.weave"]) == 1
    assert capsys.readouterr().out == "cuff.weave: would change in its line ends\n"


def test_show_prints_and_writes_nothing(folder: Path, capsys: Out) -> None:
    path = folder / "cuff.weave"
    path.write_text(MESSY, encoding="utf-8")
    assert main(["tidy", "--show", "cuff.weave"]) == 0
    assert capsys.readouterr().out == NEAT
    assert path.read_text(encoding="utf-8") == MESSY


def test_a_linked_file_stays_a_link(folder: Path) -> None:
    (folder / "real.weave").write_text("unit:\n add A\n", encoding="utf-8")
    (folder / "cuff.weave").symlink_to("real.weave")
    assert main(["tidy", "cuff.weave"]) == 0
    assert (folder / "cuff.weave").is_symlink()
    assert (folder / "real.weave").read_text(encoding="utf-8") == "unit:\n  add A\n"


@given(st.binary(max_size=80))
@settings(max_examples=60)
def test_any_bytes_are_tidied_or_refused(data: bytes) -> None:
    try:
        after = tidy_bytes(data, "x")[0]
    except (Unreadable, Unsettled):
        return
    assert tidy_bytes(after, "x")[0] == after
    one, other = (parse(source_from_bytes(d, "x"))[0] for d in (data, after))
    assert meaning(one) == meaning(other)


def test_one_another_is_one_word_and_one_is_still_a_name() -> None:
    line = "add 3 A lay front Through one, ONE \t Another picks 3"
    text = f"rings:\n  all  wire 1 mm, inside 9 mm, tin\nstart:\n  close one\n  {line}\n"
    (laid,) = (x for x in tidied(text).splitlines() if "another" in x)
    assert laid == "  add 3 A through one, one another picks 3 lay front"


def test_joining_steps_without_pieces_are_left_as_they_are() -> None:
    with pytest.raises(Unsettled, match="nothing to join"):
        tidy(source_from_text("join:\nover", "t.weave"))
