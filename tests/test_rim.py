"""The rim: files of any kind and right, what a machine refuses, questions on a terminal."""

from __future__ import annotations

import errno
import io
import os
import stat
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
from test_commands import Patch, Terminal

from ringstep.commands import price_lists, rim
from ringstep.commands.rim import PassingLine, Stop
from ringstep.shop.columns import Untold

# -- lists that a shop keeps -----------------------------------------------------------------------


def answered(
    monkeypatch: Patch, typed: str, what: str = "price", heads: tuple[str, ...] = ("Nr", "EK", "VK")
) -> tuple[str, str]:
    """The answer to a question for a column, and what was shown."""
    monkeypatch.setattr(sys, "stdin", Terminal(typed))
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    answer = price_lists._answer(Untold("", what, heads))
    return answer, sys.stderr.getvalue()  # type: ignore[attr-defined]


def test_a_question_for_a_column_is_asked_until_it_is_answered(monkeypatch: Patch) -> None:
    answer, shown = answered(monkeypatch, "4\n0\n\nVK\n=5\n 3 \n")
    assert answer == "VK"
    assert shown == (f"Which column is the price?\n  1  Nr\n  2  EK\n  3  VK\n{'number: ' * 6}")
    assert answered(monkeypatch, "1\n")[0] == "Nr"
    with pytest.raises(Untold):
        answered(monkeypatch, "4\n")


def test_a_column_may_be_none_or_one_value_for_all_lines(monkeypatch: Patch) -> None:
    answer, shown = answered(monkeypatch, "0\n", "material", ("x" * 70, "EK"))
    assert answer == "-"
    assert shown == (
        f"Which column is the metal?\n  1  {'x' * 60}\n  2  EK\n  0  none of them\n"
        "  or one value for all lines, such as =copper\nnumber: "
    )
    assert answered(monkeypatch, "=  brass wire \n", "material")[0] == "brass wire"
    answer, shown = answered(monkeypatch, "0\n= \n=100\n", "pack")
    assert (answer, "none of them" in shown, shown.count("number: ")) == ("100", False, 3)
    assert "or one value" not in answered(monkeypatch, "0\n", "count")[1]


LIST = "Nr;Was;VK\n1;Kupfer 1,2 x 5;3,80 €\n"


def asked_of(folder: Path, monkeypatch: Patch, typed: str) -> Terminal:
    """What is shown on a terminal while a list is opened."""
    monkeypatch.setattr(sys, "stdin", Terminal(typed))
    monkeypatch.setattr(sys, "stderr", shown := Terminal())
    (one,) = price_lists.prices_in("own.csv", ["pack=100"])
    assert (one.name, one.pack, str(one.price), one.currency) == (
        "Kupfer 1,2 x 5", 100, "3.80", "EUR",
    )  # fmt: skip
    return shown


def test_what_was_answered_is_remembered_beside_the_list(folder: Path, monkeypatch: Patch) -> None:
    (folder / "own.csv").write_text(LIST, encoding="utf-8")
    shown = asked_of(folder, monkeypatch, "3\n2\n=EUR\n").getvalue()
    assert "remembered in own.csv.columns; take it away to be asked again\n" in shown
    assert (folder / "own.csv").read_text(encoding="utf-8") == LIST
    kept = (folder / "own.csv.columns").read_text(encoding="utf-8")
    assert "headings = Nr;Was;VK\n" in kept
    again = asked_of(folder, monkeypatch, "").getvalue()
    assert "Which column" not in again
    assert "remembered in" not in again
    assert (folder / "own.csv.columns").read_text(encoding="utf-8") == kept


def test_what_cannot_be_remembered_is_told_and_the_list_is_read(
    folder: Path, monkeypatch: Patch
) -> None:
    (folder / "own.csv").write_text(LIST, encoding="utf-8")
    (folder / "own.csv.columns").mkdir()
    shown = asked_of(folder, monkeypatch, "3\n2\n=EUR\n").getvalue()
    assert "not remembered: own.csv.columns is a folder; name a file" in " ".join(shown.split())


# -- the rim ---------------------------------------------------------------------------------------


def test_a_passing_line_is_written_over_and_wiped(monkeypatch: Patch) -> None:
    monkeypatch.setenv("COLUMNS", "20")
    monkeypatch.setattr(sys, "stderr", shown := Terminal())
    line = PassingLine()
    line.clear()
    assert shown.getvalue() == ""
    line.say("twelve words")
    line.say("ten")
    line.say("so long that it breaks off")
    line.say("exactly nineteen ok")
    line.clear()
    line.clear()
    assert shown.getvalue() == (
        "twelve words\rten         \rso long that it\rexactly nineteen ok\r" + " " * 19 + "\r"
    )
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    (quiet := PassingLine()).say("nothing")
    quiet.clear()
    assert (quiet.shown, quiet.wide, sys.stderr.getvalue()) == (False, 0, "")


@pytest.mark.parametrize(
    ("fault", "told"),
    [
        (OSError(errno.ENOSPC, "full"), "full; make room on that disk and try again"),
        (OSError(errno.EROFS, "shut"), "shut; name another place; nothing can be written there"),
        (OSError(errno.ENOENT, "gone"), "gone"),
        (OSError("odd"), "odd"),
        (ValueError("a nought in it"), "a nought in it"),
    ],
)
def test_why_a_machine_refuses(fault: Exception, told: str) -> None:
    assert rim.reason(fault) == told
    for number, held in ((5, True), (32, True), (6, False), (33, False), (31, False)):
        fault.winerror = number  # type: ignore[attr-defined]
        assert ("another program may hold it open" in rim.reason(fault)) == held
        assert rim.reason(fault).startswith(told.partition(";")[0])


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("", "the name of a file is empty; name a table"),
        (".", ". is a folder; name the table in it"),
        ("a\0b", "a\0b cannot be read: embedded null byte"),
        ("byzantine", "there is no file byzantine"),
        ("-", "nothing is piped in, and '-' stands for that; name a file"),
    ],
)
def test_what_is_no_file_of_bytes(path: str, told: str, folder: Path, monkeypatch: Patch) -> None:
    monkeypatch.setattr(sys, "stdin", None)
    with pytest.raises(Stop) as stopped:
        rim.bytes_of(path, 10, "table")
    assert str(stopped.value) == told


def test_one_byte_more_than_may_be_is_read(folder: Path, monkeypatch: Patch) -> None:
    (folder / "long").write_bytes(b"0123456789")
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(b"0123456789")))
    assert rim.bytes_of("long", 5, "table") == rim.bytes_of("-", 5, "table") == b"012345"
    most = 500_000
    (folder / "most.weave").write_bytes(b"#" * most)
    assert len(rim.recipe_bytes("most.weave")) == most
    (folder / "more.weave").write_bytes(b"#" * (most + 1))
    with pytest.raises(Stop, match=r"more.weave holds 500,001 bytes; a recipe has at most 500,000"):
        rim.recipe_bytes("more.weave")
    monkeypatch.setattr("os.path.getsize", lambda _: most)
    with pytest.raises(Stop, match=r"more.weave does not end; a recipe has at most 500,000 bytes"):
        rim.recipe_bytes("more.weave")


def test_a_message_is_cut_line_by_line_and_no_mark_steers(monkeypatch: Patch) -> None:
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    rim.tell(Stop("a\x1b[2J" + "b" * 2000 + "\nsecond"))
    first, second = sys.stderr.getvalue().splitlines()
    assert (len(first), second) == (1000, "second")
    assert first.startswith("ringstep: a")
    assert "\x1b" not in first
    monkeypatch.setenv("COLUMNS", "12")
    monkeypatch.setattr(sys, "stderr", Terminal())
    rim.tell(Stop("no such thing"))
    assert sys.stderr.getvalue() == "ringstep: no\n  such thing\n"


def test_a_file_is_written_whole_with_the_rights_it_had(folder: Path) -> None:
    old = folder / "old"
    old.write_text("old")
    old.chmod(0o640)
    rim.write_aside(old, b"new")
    assert (old.read_bytes(), stat.S_IMODE(old.stat().st_mode)) == (b"new", 0o640)
    rim.write_aside(folder / "far" / "in" / "it", b"made")
    rim.write_aside(folder / "far" / "in" / "it", b"again")
    assert (folder / "far" / "in" / "it").read_bytes() == b"again"
    half = folder / f".ringstep-{os.getpid()}.part"
    half.write_text("left by one that was broken off")
    (folder / "link").symlink_to("old")
    rim.write_aside(folder / "link", b"in its place")
    assert not (folder / "link").is_symlink()
    assert old.read_bytes() == b"new"
    assert not half.exists()
    old.chmod(0o440)
    with pytest.raises(Stop, match="old is read-only and is left as it is"):
        rim.write_aside(old, b"no")


def test_a_new_file_takes_no_place(folder: Path, monkeypatch: Patch) -> None:
    (folder / "nowhere").symlink_to("away")
    for name in ("it.weave", "nowhere"):
        with pytest.raises(Stop, match=f"{name} is there already and is left as it is"):
            rim.write_new(Path(name), b"no")
    rim.write_new(Path("a/b/c"), b"yes")
    rim.write_new(Path("a/b/d"), b"yes")
    assert Path("a/b/c").read_bytes() == Path("a/b/d").read_bytes() == b"yes"
    monkeypatch.setattr(Path, "exists", lambda _: False)
    with pytest.raises(Stop, match="a file cannot be called that: embedded null byte"):
        rim.write_new(Path("x\0"), b"no")


def test_what_was_read_is_not_written_over(folder: Path) -> None:
    (folder / "list.csv").write_text("")
    (folder / "same.csv").symlink_to("list.csv")
    with pytest.raises(Stop, match=r"same\.csv is read from, so it is not written over"):
        rim.not_a_source(Path("same.csv"), "it.weave", "list.csv")
    with pytest.raises(Stop, match=r"list\.csv is a recipe and is left as it is"):
        rim.not_a_source(Path("list.csv"), "same.csv", "list.csv")
    with pytest.raises(Stop, match=r"NEW\.WEAVE is a recipe"):
        rim.not_a_source(Path("NEW.WEAVE"))
    rim.not_a_source(Path("list.csv"), "it.weave", None, "-", "gone", "it.weave/x")
    with pytest.raises(Stop):
        rim.write_all(Path(), {"page.html": b"x", "list.csv": b"y"}, "it.weave", "list.csv")
    assert not Path("page.html").exists()


def test_a_fault_of_its_own_says_where(folder: Path) -> None:
    try:
        rim.stem_of(None)  # type: ignore[arg-type]
    except TypeError as fault:
        told = str(rim.own_fault(fault))
    assert "a fault of ringstep itself, not of the recipe: TypeError at pathlib.py, line " in told
    long = str(rim.own_fault(ValueError("z" * 300)))
    assert long.startswith("a fault of ringstep itself, not of the recipe: ValueError (zzz")
    assert long.count("z") == 120
    assert str(rim.own_fault(MemoryError())).startswith("there is not enough memory for this;")
    full = OSError(errno.ENOSPC, "full")
    assert str(rim.own_fault(full)).startswith("what is printed cannot be written: full; make room")
    gone = OSError(errno.ENOENT, "gone", "x.csv")
    assert str(rim.own_fault(gone)) == "x.csv cannot be used: gone"
