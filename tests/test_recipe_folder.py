"""The folder on the table: what is read and written in it, and all that can go wrong with that."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
from helpers import SIMPLE

from ringstep.commands.recipe_folder import InTheWay, RecipeFolder
from ringstep.commands.rim import Stop
from ringstep.language.source import Unreadable
from ringstep.table.files import ChangedMeanwhile

CHANGED = SIMPLE.replace("30 units", "31 units")
OTHER = SIMPLE.replace("30 units", "32 units")


def names(bench: RecipeFolder) -> list[str]:
    """Everything in the folder, hidden files too."""
    return sorted(os.listdir(bench.root))


def cuff(bench: RecipeFolder) -> bytes:
    """What the recipe on the disk says."""
    return (bench.root / "cuff.weave").read_bytes()


# -- opening and saving --------------------------------------------------------------------------


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize(
    ("encoding", "mark"),
    [("utf-8", b""), ("utf-8", b"\xef\xbb\xbf"), ("utf-16-le", b"\xff\xfe"),
     ("utf-16-be", b"\xfe\xff")],
)  # fmt: skip
def test_line_ends_and_encoding_stay(
    bench: RecipeFolder, end: str, encoding: str, mark: bytes
) -> None:
    def as_bytes(text: str) -> bytes:
        return mark + text.replace("\n", end).encode(encoding)

    (bench.root / "cuff.weave").write_bytes(as_bytes(SIMPLE))
    opened = bench.opened("cuff.weave")
    assert (opened.text, opened.seen) == (SIMPLE, as_bytes(SIMPLE))
    seen = bench.save("cuff.weave", CHANGED + "# °", opened.seen)
    assert cuff(bench) == seen == as_bytes(CHANGED + "# °")
    assert bench.opened("cuff.weave").text == CHANGED + "# °"


def test_a_text_that_was_not_changed_keeps_its_mixed_line_ends(bench: RecipeFolder) -> None:
    mixed = b"unit:\r\n  add A\n# end\r"
    (bench.root / "cuff.weave").write_bytes(mixed)
    opened = bench.opened("cuff.weave")
    assert opened.text == "unit:\n  add A\n# end\n"
    assert bench.save("cuff.weave", opened.text, opened.seen) == mixed == cuff(bench)


def test_whatever_line_ends_come_from_the_page(bench: RecipeFolder) -> None:
    seen = bench.opened("cuff.weave").seen
    bench.save("cuff.weave", "\ufeff" + CHANGED.replace("\n", "\r\n"), seen)
    assert cuff(bench) == CHANGED.encode()


@pytest.mark.parametrize(
    ("text", "told"),
    [("a\n\nb\ud800", "cuff.weave, line 3: a file cannot hold half a letter; type it anew"),
     ("a\n\0", "cuff.weave, line 2: there is a zero byte"),
     ("x" * 5_000, "cuff.weave, line 1: this line has 5,000 letters"),
     ("x\n" * 300_000, "cuff.weave holds 600,000 bytes")],
)  # fmt: skip
def test_what_could_not_be_opened_again_is_not_saved(
    bench: RecipeFolder, text: str, told: str
) -> None:
    seen = bench.opened("cuff.weave").seen
    with pytest.raises((Stop, Unreadable)) as refused:
        bench.save("cuff.weave", text, seen)
    assert str(refused.value).startswith(told)
    with pytest.raises((Stop, Unreadable)):
        bench.new("other", text)
    assert (cuff(bench), names(bench)) == (SIMPLE.encode(), ["cuff.weave"])
    bench.keep_draft("cuff.weave", text)  # but what was typed is not lost
    draft = bench.draft("cuff.weave")
    assert draft is not None
    assert draft.text == text


def test_a_file_that_is_no_text_is_told(bench: RecipeFolder) -> None:
    (bench.root / "cuff.weave").write_bytes(b"a\n\xff")
    with pytest.raises(Unreadable, match=r"cuff\.weave, line 2: these bytes are not UTF-8"):
        bench.opened("cuff.weave")


def test_a_recipe_that_is_not_there_yet(bench: RecipeFolder) -> None:
    opened = bench.opened("new.weave")
    assert (opened.text, opened.seen) == ("", None)
    assert bench.save("new.weave", CHANGED, None) == CHANGED.encode()
    assert bench.recipes() == ["cuff.weave", "new.weave"]


def test_who_may_read_it_stays(bench: RecipeFolder) -> None:
    path = bench.root / "cuff.weave"
    path.chmod(0o640)
    bench.save("cuff.weave", CHANGED, bench.opened("cuff.weave").seen)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


# -- two tabs ------------------------------------------------------------------------------------


def test_two_tabs_and_both_answers(bench: RecipeFolder) -> None:
    one, two = bench.opened("cuff.weave"), bench.opened("cuff.weave")
    after_one = bench.save("cuff.weave", CHANGED, one.seen)
    with pytest.raises(ChangedMeanwhile, match=r"^cuff\.weave was changed meanwhile$"):
        bench.save("cuff.weave", OTHER, two.seen)
    assert (cuff(bench), names(bench)) == (CHANGED.encode(), ["cuff.weave"])
    after_two = bench.save("cuff.weave", OTHER, two.seen, over=True)
    assert cuff(bench) == after_two == OTHER.encode()
    assert (bench.root / "cuff.weave.before").read_bytes() == CHANGED.encode()
    with pytest.raises(ChangedMeanwhile):
        bench.save("cuff.weave", SIMPLE, after_one)
    assert bench.opened("cuff.weave").text == OTHER  # the other answer: take what is there
    assert bench.save("cuff.weave", SIMPLE, after_two) == SIMPLE.encode()


def test_a_change_is_seen_whatever_the_clock_says(bench: RecipeFolder) -> None:
    path, seen = bench.root / "cuff.weave", bench.opened("cuff.weave").seen
    before = path.stat()
    path.write_bytes(OTHER.encode())  # as long as it was
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert path.stat().st_size == before.st_size
    with pytest.raises(ChangedMeanwhile):
        bench.save("cuff.weave", CHANGED, seen)
    path.write_bytes(SIMPLE.encode())  # another time, the same bytes
    assert bench.save("cuff.weave", CHANGED, seen) == CHANGED.encode()


def test_both_tabs_saved_the_same(bench: RecipeFolder) -> None:
    seen = bench.opened("cuff.weave").seen
    for _ in "ab":
        assert bench.save("cuff.weave", CHANGED, seen) == CHANGED.encode()
    assert names(bench) == ["cuff.weave"]


def test_a_file_taken_away_meanwhile(bench: RecipeFolder) -> None:
    seen = bench.opened("cuff.weave").seen
    (bench.root / "cuff.weave").unlink()
    with pytest.raises(ChangedMeanwhile, match=r"^cuff\.weave was taken away meanwhile$"):
        bench.save("cuff.weave", CHANGED, seen)
    assert names(bench) == []
    bench.save("cuff.weave", CHANGED, seen, over=True)
    assert (cuff(bench), names(bench)) == (CHANGED.encode(), ["cuff.weave"])


def test_a_file_that_came_to_be_meanwhile(bench: RecipeFolder) -> None:
    with pytest.raises(ChangedMeanwhile):
        bench.save("cuff.weave", CHANGED, None)
    assert cuff(bench) == SIMPLE.encode()


def test_a_file_changed_to_something_that_is_no_text(bench: RecipeFolder) -> None:
    seen = bench.opened("cuff.weave").seen
    (bench.root / "cuff.weave").write_bytes(b"\xff\xff")
    with pytest.raises(ChangedMeanwhile):
        bench.save("cuff.weave", CHANGED, seen)
    bench.save("cuff.weave", CHANGED, seen, over=True)
    assert (bench.root / "cuff.weave.before").read_bytes() == b"\xff\xff"


# -- new recipes ---------------------------------------------------------------------------------


def test_a_new_recipe(bench: RecipeFolder) -> None:
    assert bench.new("ring <b>\"strand\"</b> & 'co'".replace("/", "-"), CHANGED) == (
        "ring <b>\"strand\"<-b> & 'co'.weave"
    )
    assert bench.new("Second.WEAVE", SIMPLE) == "Second.WEAVE"
    assert bench.recipes() == [
        "cuff.weave", "ring <b>\"strand\"<-b> & 'co'.weave", "Second.WEAVE",
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["cuff", "cuff.weave", "CUFF", "Cuff.Weave"])
def test_never_over_a_file(bench: RecipeFolder, name: str) -> None:
    with pytest.raises(Stop, match=r"^cuff\.weave is there already"):
        bench.new(name, CHANGED)
    assert (cuff(bench), names(bench)) == (SIMPLE.encode(), ["cuff.weave"])


def test_letters_written_in_two_ways_are_one_name(bench: RecipeFolder) -> None:
    bench.new("caf\u00e9", SIMPLE)
    with pytest.raises(Stop, match="is there already"):
        bench.new("cafe\u0301", CHANGED)


def test_never_over_a_file_made_this_very_moment(
    bench: RecipeFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    def nothing(path: Path) -> bool:
        return False

    monkeypatch.setattr(os, "listdir", lambda _: [])
    monkeypatch.setattr(Path, "exists", nothing)
    with pytest.raises(Stop, match=r"cuff\.weave cannot be written: File exists$"):
        bench.new("cuff", CHANGED)
    assert cuff(bench) == SIMPLE.encode()


# -- drafts --------------------------------------------------------------------------------------


def test_a_draft_is_offered_back_where_it_differs(bench: RecipeFolder) -> None:
    assert bench.draft("cuff.weave") is None
    bench.keep_draft("cuff.weave", CHANGED)
    bench.keep_draft("cuff.weave", OTHER)
    assert names(bench) == [".cuff.weave.draft", "cuff.weave"]
    os.utime(bench.root / ".cuff.weave.draft", (1_700_000_000, 1_700_000_000))
    draft = bench.draft("cuff.weave")
    assert draft is not None
    assert draft.text == OTHER
    assert draft.kept.startswith("2023-11-1")  # the 14th at 22:13 in UTC
    assert bench.recipes() == ["cuff.weave"]
    bench.save("cuff.weave", OTHER, bench.opened("cuff.weave").seen)
    assert bench.draft("cuff.weave") is None
    bench.drop_draft("cuff.weave")
    bench.drop_draft("cuff.weave")
    assert names(bench) == ["cuff.weave"]


def test_a_draft_outlives_its_recipe(bench: RecipeFolder) -> None:
    bench.keep_draft("cuff.weave", CHANGED)
    for spoil in (Path.unlink, lambda path: path.write_bytes(b"\xff")):
        spoil(bench.root / "cuff.weave")
        draft = bench.draft("cuff.weave")
        assert draft is not None
        assert draft.text == CHANGED


def test_a_draft_that_is_no_text_is_told(bench: RecipeFolder) -> None:
    (bench.root / ".cuff.weave.draft").write_bytes(b"\xff")
    with pytest.raises(Stop, match=r"^\.cuff\.weave\.draft is no text$"):
        bench.draft("cuff.weave")


@pytest.mark.parametrize("mode", [0o600, 0o444])
def test_a_draft_is_read_by_nobody_else_and_kept_again(bench: RecipeFolder, mode: int) -> None:
    (bench.root / "cuff.weave").chmod(mode)
    for text in (CHANGED, OTHER):
        bench.keep_draft("cuff.weave", text)
    draft = bench.root / ".cuff.weave.draft"
    assert stat.S_IMODE(draft.stat().st_mode) == mode | 0o200
    assert draft.read_text(encoding="utf-8") == OTHER


# -- files made of recipes -----------------------------------------------------------------------

PAGE = b'<!doctype html><meta name="generator" content="ringstep 0.1.0">'


def test_a_page_is_made_and_made_again(bench: RecipeFolder) -> None:
    assert bench.made("cuff-handout.html", PAGE) == bench.root / "cuff-handout.html"
    bench.made("cuff-handout.html", PAGE + b" more")
    assert bench.page("cuff-handout.html") == PAGE + b" more"


def test_what_was_not_made_here_is_asked_about(bench: RecipeFolder) -> None:
    path = bench.root / "cuff-handout.html"
    path.write_bytes(b"my own page")
    with pytest.raises(InTheWay, match="is there already"):
        bench.made("cuff-handout.html", PAGE)
    assert path.read_bytes() == b"my own page"
    bench.made("cuff-handout.html", PAGE, over=True)
    assert path.read_bytes() == PAGE


@pytest.mark.parametrize("over", [False, True])
@pytest.mark.parametrize("way", ["name", "capitals", "link", "twin"])
def test_nothing_made_takes_the_place_of_a_recipe(
    bench: RecipeFolder, way: str, over: bool
) -> None:
    cuff_path, name = bench.root / "cuff.weave", "page.html"
    if way == "link":
        (bench.root / name).symlink_to("cuff.weave")
    elif way == "twin":
        os.link(cuff_path, bench.root / name)
    else:
        name = "cuff.weave" if way == "name" else "other.WEAVE"
    with pytest.raises(Stop):
        bench.made(name, PAGE, over)
    assert cuff(bench) == SIMPLE.encode()
    assert not (bench.root / "other.WEAVE").exists()
