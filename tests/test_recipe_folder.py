"""The folder on the table: what is read and written in it, and all that can go wrong with that."""

from __future__ import annotations

import builtins
import os
import shutil
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from helpers import SIMPLE

from ringstep.commands.recipe_folder import InTheWay, RecipeFolder
from ringstep.commands.rim import Stop
from ringstep.language.source import Refused, Unreadable
from ringstep.table.files import ChangedMeanwhile

CHANGED = SIMPLE.replace("30 units", "31 units")
OTHER = SIMPLE.replace("30 units", "32 units")


@pytest.fixture
def outside(tmp_path: Path) -> Path:
    """A recipe beside the folder, which nothing may reach."""
    file = tmp_path / "outside.weave"
    file.write_text("mine", encoding="utf-8")
    return file


@pytest.fixture
def folder(tmp_path: Path, outside: Path) -> RecipeFolder:
    """A folder with one recipe."""
    (tmp_path / "bench").mkdir()
    (tmp_path / "bench" / "cuff.weave").write_bytes(SIMPLE.encode())
    return RecipeFolder.at(tmp_path / "bench")


def names(folder: RecipeFolder) -> list[str]:
    """Everything in the folder, hidden files too."""
    return sorted(os.listdir(folder.root))


def cuff(folder: RecipeFolder) -> bytes:
    """What the recipe on the disk says."""
    return (folder.root / "cuff.weave").read_bytes()


# -- opening and saving --------------------------------------------------------------------------


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize(
    ("encoding", "mark"),
    [("utf-8", b""), ("utf-8", b"\xef\xbb\xbf"), ("utf-16-le", b"\xff\xfe"),
     ("utf-16-be", b"\xfe\xff")],
)  # fmt: skip
def test_line_ends_and_encoding_stay(
    folder: RecipeFolder, end: str, encoding: str, mark: bytes
) -> None:
    def as_bytes(text: str) -> bytes:
        return mark + text.replace("\n", end).encode(encoding)

    (folder.root / "cuff.weave").write_bytes(as_bytes(SIMPLE))
    opened = folder.open("cuff.weave")
    assert (opened.text, opened.seen) == (SIMPLE, as_bytes(SIMPLE))
    seen = folder.save("cuff.weave", CHANGED + "# °", opened.seen)
    assert cuff(folder) == seen == as_bytes(CHANGED + "# °")
    assert folder.open("cuff.weave").text == CHANGED + "# °"


def test_a_text_that_was_not_changed_keeps_its_mixed_line_ends(folder: RecipeFolder) -> None:
    mixed = b"unit:\r\n  add A\n# end\r"
    (folder.root / "cuff.weave").write_bytes(mixed)
    opened = folder.open("cuff.weave")
    assert opened.text == "unit:\n  add A\n# end\n"
    assert folder.save("cuff.weave", opened.text, opened.seen) == mixed == cuff(folder)


def test_whatever_line_ends_come_from_the_page(folder: RecipeFolder) -> None:
    seen = folder.open("cuff.weave").seen
    folder.save("cuff.weave", "\ufeff" + CHANGED.replace("\n", "\r\n"), seen)
    assert cuff(folder) == CHANGED.encode()


@pytest.mark.parametrize(
    ("text", "told"),
    [("a\n\nb\ud800", "cuff.weave, line 3: a file cannot hold half a letter; type it anew"),
     ("a\n\0", "cuff.weave, line 2: there is a zero byte"),
     ("x" * 5_000, "cuff.weave, line 1: this line has 5,000 letters"),
     ("x\n" * 300_000, "cuff.weave holds 600,000 bytes")],
)  # fmt: skip
def test_what_could_not_be_opened_again_is_not_saved(
    folder: RecipeFolder, text: str, told: str
) -> None:
    seen = folder.open("cuff.weave").seen
    with pytest.raises((Stop, Unreadable)) as refused:
        folder.save("cuff.weave", text, seen)
    assert str(refused.value).startswith(told)
    with pytest.raises((Stop, Unreadable)):
        folder.new("other", text)
    assert (cuff(folder), names(folder)) == (SIMPLE.encode(), ["cuff.weave"])
    folder.keep_draft("cuff.weave", text)  # but what was typed is not lost
    draft = folder.draft("cuff.weave")
    assert draft is not None
    assert draft.text == text


def test_a_file_that_is_no_text_is_told(folder: RecipeFolder) -> None:
    (folder.root / "cuff.weave").write_bytes(b"a\n\xff")
    with pytest.raises(Unreadable, match=r"cuff\.weave, line 2: these bytes are not UTF-8"):
        folder.open("cuff.weave")


def test_a_recipe_that_is_not_there_yet(folder: RecipeFolder) -> None:
    opened = folder.open("new.weave")
    assert (opened.text, opened.seen) == ("", None)
    assert folder.save("new.weave", CHANGED, None) == CHANGED.encode()
    assert folder.recipes() == ["cuff.weave", "new.weave"]


def test_who_may_read_it_stays(folder: RecipeFolder) -> None:
    path = folder.root / "cuff.weave"
    path.chmod(0o640)
    folder.save("cuff.weave", CHANGED, folder.open("cuff.weave").seen)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


# -- two tabs ------------------------------------------------------------------------------------


def test_two_tabs_and_both_answers(folder: RecipeFolder) -> None:
    one, two = folder.open("cuff.weave"), folder.open("cuff.weave")
    after_one = folder.save("cuff.weave", CHANGED, one.seen)
    with pytest.raises(ChangedMeanwhile, match=r"^cuff\.weave was changed meanwhile$"):
        folder.save("cuff.weave", OTHER, two.seen)
    assert (cuff(folder), names(folder)) == (CHANGED.encode(), ["cuff.weave"])
    after_two = folder.save("cuff.weave", OTHER, two.seen, over=True)
    assert cuff(folder) == after_two == OTHER.encode()
    assert (folder.root / "cuff.weave.before").read_bytes() == CHANGED.encode()
    with pytest.raises(ChangedMeanwhile):
        folder.save("cuff.weave", SIMPLE, after_one)
    assert folder.open("cuff.weave").text == OTHER  # the other answer: take what is there
    assert folder.save("cuff.weave", SIMPLE, after_two) == SIMPLE.encode()


def test_a_change_is_seen_whatever_the_clock_says(folder: RecipeFolder) -> None:
    path, seen = folder.root / "cuff.weave", folder.open("cuff.weave").seen
    before = path.stat()
    path.write_bytes(OTHER.encode())  # as long as it was
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert path.stat().st_size == before.st_size
    with pytest.raises(ChangedMeanwhile):
        folder.save("cuff.weave", CHANGED, seen)
    path.write_bytes(SIMPLE.encode())  # another time, the same bytes
    assert folder.save("cuff.weave", CHANGED, seen) == CHANGED.encode()


def test_both_tabs_saved_the_same(folder: RecipeFolder) -> None:
    seen = folder.open("cuff.weave").seen
    for _ in "ab":
        assert folder.save("cuff.weave", CHANGED, seen) == CHANGED.encode()
    assert names(folder) == ["cuff.weave"]


def test_a_file_taken_away_meanwhile(folder: RecipeFolder) -> None:
    seen = folder.open("cuff.weave").seen
    (folder.root / "cuff.weave").unlink()
    with pytest.raises(ChangedMeanwhile, match=r"^cuff\.weave was taken away meanwhile$"):
        folder.save("cuff.weave", CHANGED, seen)
    assert names(folder) == []
    folder.save("cuff.weave", CHANGED, seen, over=True)
    assert (cuff(folder), names(folder)) == (CHANGED.encode(), ["cuff.weave"])


def test_a_file_that_came_to_be_meanwhile(folder: RecipeFolder) -> None:
    with pytest.raises(ChangedMeanwhile):
        folder.save("cuff.weave", CHANGED, None)
    assert cuff(folder) == SIMPLE.encode()


def test_a_file_changed_to_something_that_is_no_text(folder: RecipeFolder) -> None:
    seen = folder.open("cuff.weave").seen
    (folder.root / "cuff.weave").write_bytes(b"\xff\xff")
    with pytest.raises(ChangedMeanwhile):
        folder.save("cuff.weave", CHANGED, seen)
    folder.save("cuff.weave", CHANGED, seen, over=True)
    assert (folder.root / "cuff.weave.before").read_bytes() == b"\xff\xff"


# -- new recipes ---------------------------------------------------------------------------------


def test_a_new_recipe(folder: RecipeFolder) -> None:
    assert folder.new("ring <b>\"strand\"</b> & 'co'".replace("/", "-"), CHANGED) == (
        "ring <b>\"strand\"<-b> & 'co'.weave"
    )
    assert folder.new("Second.WEAVE", SIMPLE) == "Second.WEAVE"
    assert folder.recipes() == [
        "cuff.weave", "ring <b>\"strand\"<-b> & 'co'.weave", "Second.WEAVE",
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["cuff", "cuff.weave", "CUFF", "Cuff.Weave"])
def test_never_over_a_file(folder: RecipeFolder, name: str) -> None:
    with pytest.raises(Stop, match=r"^cuff\.weave is there already"):
        folder.new(name, CHANGED)
    assert (cuff(folder), names(folder)) == (SIMPLE.encode(), ["cuff.weave"])


def test_letters_written_in_two_ways_are_one_name(folder: RecipeFolder) -> None:
    folder.new("caf\u00e9", SIMPLE)
    with pytest.raises(Stop, match="is there already"):
        folder.new("cafe\u0301", CHANGED)


def test_never_over_a_file_made_this_very_moment(
    folder: RecipeFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    def nothing(path: Path) -> bool:
        return False

    monkeypatch.setattr(os, "listdir", lambda _: [])
    monkeypatch.setattr(Path, "exists", nothing)
    with pytest.raises(Stop, match=r"cuff\.weave cannot be written: File exists$"):
        folder.new("cuff", CHANGED)
    assert cuff(folder) == SIMPLE.encode()


# -- drafts --------------------------------------------------------------------------------------


def test_a_draft_is_offered_back_where_it_differs(folder: RecipeFolder) -> None:
    assert folder.draft("cuff.weave") is None
    folder.keep_draft("cuff.weave", CHANGED)
    folder.keep_draft("cuff.weave", OTHER)
    assert names(folder) == [".cuff.weave.draft", "cuff.weave"]
    os.utime(folder.root / ".cuff.weave.draft", (1_700_000_000, 1_700_000_000))
    draft = folder.draft("cuff.weave")
    assert draft is not None
    assert draft.text == OTHER
    assert draft.kept.startswith("2023-11-1")  # the 14th at 22:13 in UTC
    assert folder.recipes() == ["cuff.weave"]
    folder.save("cuff.weave", OTHER, folder.open("cuff.weave").seen)
    assert folder.draft("cuff.weave") is None
    folder.drop_draft("cuff.weave")
    folder.drop_draft("cuff.weave")
    assert names(folder) == ["cuff.weave"]


def test_a_draft_outlives_its_recipe(folder: RecipeFolder) -> None:
    folder.keep_draft("cuff.weave", CHANGED)
    for spoil in (Path.unlink, lambda path: path.write_bytes(b"\xff")):
        spoil(folder.root / "cuff.weave")
        draft = folder.draft("cuff.weave")
        assert draft is not None
        assert draft.text == CHANGED


def test_a_draft_that_is_no_text_is_told(folder: RecipeFolder) -> None:
    (folder.root / ".cuff.weave.draft").write_bytes(b"\xff")
    with pytest.raises(Stop, match=r"^\.cuff\.weave\.draft is no text$"):
        folder.draft("cuff.weave")


@pytest.mark.parametrize("mode", [0o600, 0o444])
def test_a_draft_is_read_by_nobody_else_and_kept_again(folder: RecipeFolder, mode: int) -> None:
    (folder.root / "cuff.weave").chmod(mode)
    for text in (CHANGED, OTHER):
        folder.keep_draft("cuff.weave", text)
    draft = folder.root / ".cuff.weave.draft"
    assert stat.S_IMODE(draft.stat().st_mode) == mode | 0o200
    assert draft.read_text(encoding="utf-8") == OTHER


# -- files made of recipes -----------------------------------------------------------------------

PAGE = b'<!doctype html><meta name="generator" content="ringstep 0.1.0">'


def test_a_page_is_made_and_made_again(folder: RecipeFolder) -> None:
    assert folder.made("cuff-handout.html", PAGE) == folder.root / "cuff-handout.html"
    folder.made("cuff-handout.html", PAGE + b" more")
    assert folder.read("cuff-handout.html") == PAGE + b" more"


def test_what_was_not_made_here_is_asked_about(folder: RecipeFolder) -> None:
    path = folder.root / "cuff-handout.html"
    path.write_bytes(b"my own page")
    with pytest.raises(InTheWay, match="is there already"):
        folder.made("cuff-handout.html", PAGE)
    with pytest.raises(Stop, match="was not made here"):
        folder.read("cuff-handout.html")
    assert path.read_bytes() == b"my own page"
    folder.made("cuff-handout.html", PAGE, over=True)
    assert path.read_bytes() == PAGE


@pytest.mark.parametrize("over", [False, True])
@pytest.mark.parametrize("way", ["name", "capitals", "link", "twin"])
def test_nothing_made_takes_the_place_of_a_recipe(
    folder: RecipeFolder, way: str, over: bool
) -> None:
    cuff_path, name = folder.root / "cuff.weave", "page.html"
    if way == "link":
        (folder.root / name).symlink_to("cuff.weave")
    elif way == "twin":
        os.link(cuff_path, folder.root / name)
    else:
        name = "cuff.weave" if way == "name" else "other.WEAVE"
    with pytest.raises(Stop):
        folder.made(name, PAGE, over)
    assert cuff(folder) == SIMPLE.encode()
    assert not (folder.root / "other.WEAVE").exists()


# -- nothing outside the folder ------------------------------------------------------------------

WAYS_OUT = [
    "../outside.weave", "..\\outside.weave", "./cuff.weave", "sub/../../outside.weave", "..", ".",
    "",
    "/etc/passwd", "/etc/x.weave", "\\\\host\\share\\x.weave", "C:\\x.weave", "c:x.weave", "C:",
    "cuff.weave\0", "cuff.weave\0.weave", "a\nb.weave", "a\x1b[2Jb.weave", "\ud800.weave",
    "cuff.weave:stream", "cuff.weave.", "cuff.weave ", ".weave", ".cuff.weave", ".cuff.weave.draft",
    "con.weave", "CON.weave", "Nul.weave", "aux.x.weave", "com1.weave", "LPT9.weave", "con .weave",
    "COM¹.weave", "conin$.weave", "prn", "x" * 195 + ".weave", "é" * 100 + ".weave",
    "%2e%2e%2foutside.weave/", "~/x.weave",
]  # fmt: skip


@pytest.mark.parametrize("name", WAYS_OUT)
def test_names_that_lead_elsewhere(folder: RecipeFolder, outside: Path, name: str) -> None:
    ways: list[Callable[[], object]] = [
        lambda: folder.open(name),
        lambda: folder.save(name, CHANGED, None, over=True),
        lambda: folder.new(name, CHANGED),
        lambda: folder.keep_draft(name, CHANGED),
        lambda: folder.draft(name),
        lambda: folder.drop_draft(name),
        lambda: folder.made(name, PAGE, over=True),
        lambda: folder.read(name),
    ]
    for way in ways:
        with pytest.raises(Stop):
            way()
    assert names(folder) == ["cuff.weave"]
    assert sorted(os.listdir(folder.root.parent)) == ["bench", "outside.weave"]
    assert outside.read_text(encoding="utf-8") == "mine"
    assert cuff(folder) == SIMPLE.encode()


@pytest.mark.parametrize("name", ["notes.txt", "cuff", "weave", "cuff.weave.before"])
def test_only_recipes_are_opened(folder: RecipeFolder, name: str) -> None:
    (folder.root / name).write_text("mine", encoding="utf-8")
    for way in (folder.open, lambda n: folder.save(n, CHANGED, b"mine", over=True)):
        with pytest.raises(Stop, match=r"such a name ends in \.weave$"):
            way(name)
    assert (folder.root / name).read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("to", ["../outside.weave", "absolute", "../gone.weave", "over the folder"])
def test_links_that_lead_elsewhere(folder: RecipeFolder, outside: Path, to: str) -> None:
    link = folder.root / "link.weave"
    if to == "over the folder":
        (folder.root / "up").symlink_to("..")
        link.symlink_to("up/outside.weave")
    else:
        link.symlink_to(outside if to == "absolute" else to)
    ways: list[Callable[[], object]] = [
        lambda: folder.open("link.weave"),
        lambda: folder.save("link.weave", CHANGED, b"mine", over=True),
        lambda: folder.new("link", CHANGED),
        lambda: folder.made("link.weave", PAGE, over=True),
        lambda: folder.keep_draft("link.weave", CHANGED),
    ]
    for way in ways:
        with pytest.raises(Stop, match="link"):
            way()
    assert folder.recipes() == ["cuff.weave"]
    assert link.is_symlink()
    assert outside.read_text(encoding="utf-8") == "mine"
    assert not (outside.parent / "gone.weave").exists()
    assert ".link.weave.draft" not in names(folder)


@pytest.mark.parametrize("name", ["cuff.weave", "page.html"])
def test_a_draft_or_page_that_was_made_a_link(
    folder: RecipeFolder, outside: Path, name: str
) -> None:
    (folder.root / f".{name}.draft").symlink_to(outside)
    (folder.root / "page.html").symlink_to(outside)
    with pytest.raises(Stop, match="link"):
        folder.draft("cuff.weave") if name == "cuff.weave" else folder.made(name, PAGE, over=True)
    with pytest.raises(Stop, match="link"):
        folder.keep_draft("cuff.weave", CHANGED) if name == "cuff.weave" else folder.made(name, b"")
    assert outside.read_text(encoding="utf-8") == "mine"


def test_a_link_within_the_folder_stays_a_link(folder: RecipeFolder) -> None:
    (folder.root / "sub").mkdir()
    (folder.root / "sub" / "deep.weave").write_text(SIMPLE, encoding="utf-8")
    for name, to in (("twin.weave", "cuff.weave"), ("far.weave", "sub/deep.weave")):
        (folder.root / name).symlink_to(to)
        folder.save(name, CHANGED, folder.open(name).seen)
        assert os.readlink(folder.root / name) == to
        assert (folder.root / to).read_text(encoding="utf-8") == CHANGED
    assert folder.recipes() == ["cuff.weave", "far.weave", "twin.weave"]


def test_links_in_a_circle(folder: RecipeFolder) -> None:
    (folder.root / "a.weave").symlink_to("b.weave")
    (folder.root / "b.weave").symlink_to("a.weave")
    with pytest.raises(Stop):
        folder.open("a.weave")
    with pytest.raises(Stop):
        folder.save("a.weave", CHANGED, None, over=True)
    assert folder.recipes() == ["cuff.weave"]


def test_the_folder_itself_may_be_a_link(folder: RecipeFolder, tmp_path: Path) -> None:
    (tmp_path / "way").symlink_to("bench")
    assert RecipeFolder.at(tmp_path / "way").recipes() == ["cuff.weave"]
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "x.weave").write_text(SIMPLE, encoding="utf-8")
    shutil.rmtree(folder.root)
    folder.root.symlink_to("elsewhere")  # what was opened is not what is there now
    with pytest.raises(Stop, match="outside the folder"):
        folder.open("x.weave")


# -- mishaps -------------------------------------------------------------------------------------


def test_the_folder_is_taken_away(folder: RecipeFolder) -> None:
    seen = folder.open("cuff.weave").seen
    shutil.rmtree(folder.root)
    ways: list[Callable[[], object]] = [
        folder.recipes,
        lambda: folder.open("cuff.weave"),
        lambda: folder.save("cuff.weave", CHANGED, seen),
        lambda: folder.save("cuff.weave", CHANGED, seen, over=True),
        lambda: folder.new("other", CHANGED),
        lambda: folder.keep_draft("cuff.weave", CHANGED),
        lambda: folder.made("page.html", PAGE),
        lambda: RecipeFolder.at(folder.root),
    ]
    for way in ways:
        with pytest.raises(Stop, match=r"^there is no folder .*; put it back, then try again$"):
            way()
    assert not folder.root.exists()  # a folder taken away is not made again


def test_a_read_only_recipe(folder: RecipeFolder) -> None:
    (folder.root / "cuff.weave").chmod(0o444)
    seen = folder.open("cuff.weave").seen
    with pytest.raises(Stop, match=r"cuff\.weave is read-only and is left as it is$"):
        folder.save("cuff.weave", CHANGED, seen)
    assert (cuff(folder), names(folder)) == (SIMPLE.encode(), ["cuff.weave"])


def test_a_folder_or_a_pipe_in_place_of_the_file(folder: RecipeFolder) -> None:
    seen = folder.open("cuff.weave").seen
    (folder.root / "cuff.weave").unlink()
    os.mkfifo(folder.root / "cuff.weave")
    with pytest.raises(Stop, match="no plain file"):
        folder.open("cuff.weave")
    with pytest.raises(Stop, match="no plain file"):
        folder.save("cuff.weave", CHANGED, seen, over=True)
    (folder.root / "cuff.weave").unlink()
    (folder.root / "cuff.weave").mkdir()
    with pytest.raises(Stop, match="is a folder"):
        folder.save("cuff.weave", CHANGED, seen, over=True)
    assert folder.recipes() == []
    assert names(folder) == ["cuff.weave"]


def test_a_folder_put_there_between_look_and_write(
    folder: RecipeFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen, replace = folder.open("cuff.weave").seen, os.replace

    def late(aside: Path, path: Path) -> None:
        path.unlink()
        path.mkdir()
        replace(aside, path)

    monkeypatch.setattr(os, "replace", late)
    with pytest.raises(Stop, match=r"cuff\.weave cannot be written: Is a directory$"):
        folder.save("cuff.weave", CHANGED, seen)
    assert names(folder) == ["cuff.weave"]


#: What writes: (what is done, and how many files are opened and put in place for it).
WRITERS: dict[str, Callable[[RecipeFolder], object]] = {
    "save": lambda f: f.save("cuff.weave", CHANGED, SIMPLE.encode()),
    "save over": lambda f: f.save("cuff.weave", CHANGED, b"other", over=True),
    "new": lambda f: f.new("new", CHANGED),
    "draft": lambda f: f.keep_draft("cuff.weave", CHANGED),
    "made": lambda f: f.made("page.html", PAGE),
}


class Counted:
    """Calls a function, and fails at the n-th call."""

    def __init__(self, function: Callable[..., Any], fails_at: int) -> None:
        self.function, self.fails_at, self.calls = function, fails_at, 0

    def __call__(self, *args: Any, **more: Any) -> Any:
        self.calls += 1
        if self.calls == self.fails_at:
            raise OSError(28, "No space left on device")
        return self.function(*args, **more)


@pytest.mark.parametrize("what", ["open", "replace", "write"])
@pytest.mark.parametrize("writer", WRITERS)
def test_each_mishap_of_the_disk_leaves_whole_files(
    folder: RecipeFolder, monkeypatch: pytest.MonkeyPatch, writer: str, what: str
) -> None:
    whole = {SIMPLE.encode(), CHANGED.encode(), OTHER.encode(), PAGE}
    told = []
    for fails_at in range(1, 9):
        for path in folder.root.iterdir():
            path.unlink()
        (folder.root / "cuff.weave").write_bytes(SIMPLE.encode())
        (folder.root / ".new.weave.draft").write_bytes(OTHER.encode())
        with monkeypatch.context() as patch:
            if what == "replace":
                counted = Counted(os.replace, fails_at)
                patch.setattr(os, "replace", counted)
            elif what == "open":
                counted = Counted(builtins.open, fails_at)
                patch.setattr(builtins, "open", counted)
            else:
                counted = Counted(lambda file, data: file.write(data), fails_at)
                patch.setattr(builtins, "open", _opens_counted(counted))
            try:
                WRITERS[writer](folder)
            except Stop as fault:
                told.append(str(fault))
        assert not [name for name in names(folder) if name.endswith(".part")]
        assert {path.read_bytes() for path in folder.root.iterdir()} <= whole
        assert (folder.root / ".new.weave.draft").read_bytes() == OTHER.encode()
        if counted.calls < fails_at:  # it never came to that, so it was done
            break
        if writer != "save over" or fails_at == 1:
            assert cuff(folder) == SIMPLE.encode()
    assert len(told) == fails_at - 1
    assert told or (writer, what) == ("new", "replace")
    assert all(words.endswith(": No space left on device") for words in told)


def _opens_counted(counted: Counted) -> Callable[..., Any]:
    """The built-in `open`, whose files write through `counted`."""
    really = builtins.open

    class Slow:
        def __init__(self, file: Any) -> None:
            self.file = file

        def __enter__(self) -> Slow:
            return self

        def __exit__(self, *_: object) -> None:
            self.file.close()

        def read(self, *args: Any) -> Any:
            return self.file.read(*args)

        def write(self, data: bytes) -> Any:
            self.file.write(data[: len(data) // 2])  # half of it fits
            return counted(self.file, data[len(data) // 2 :])

    def opens(*args: Any, **more: Any) -> Any:
        return Slow(really(*args, **more))

    return opens


def test_what_another_program_holds_open_on_windows(
    folder: RecipeFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    def held(*_: object) -> None:
        fault = PermissionError(13, "Access is denied")
        fault.winerror = 5  # type: ignore[attr-defined,unused-ignore]
        raise fault

    monkeypatch.setattr(os, "replace", held)
    with pytest.raises(Stop, match="another program may hold it open, so close it there"):
        folder.save("cuff.weave", CHANGED, folder.open("cuff.weave").seen)
    assert (cuff(folder), names(folder)) == (SIMPLE.encode(), ["cuff.weave"])


def test_all_that_is_refused_is_known_to_the_page() -> None:
    assert issubclass(ChangedMeanwhile, Refused)
