"""Whatever is typed: an answer, the same one each time, about places that are there."""

from __future__ import annotations

import contextlib
import io
import json
import sys
import unicodedata
from collections.abc import Iterator
from pathlib import Path

import pytest
from helpers import EXAMPLES, RECIPES, view
from hypothesis import given, settings
from hypothesis import strategies as st

from ringstep.checks.pipeline import findings_of, has_errors, view_of
from ringstep.checks.report import FileReport, file_lines, plain
from ringstep.commands.cli import main
from ringstep.language.source import Unreadable, source_from_bytes, source_from_text
from ringstep.language.words import HEADINGS, OPTIONS, PIECE_WORDS, PLACES, RESERVED, VERBS

#: Recipes to be mistyped: with the shared ones one that has sets of sizes, and sizes along it.
TEXTS = RECIPES | {
    "graduated strand": (EXAMPLES / "graduated_strand.weave").read_text(encoding="utf-8")
}


# -- no writing ------------------------------

_WATCH = {"on": False}
_WRITTEN: list[str] = []
_CHANGES = {"os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.link", "os.symlink",
            "os.truncate", "os.chmod", "subprocess.Popen", "socket.connect"}  # fmt: skip


def _watch(event: str, args: tuple[object, ...]) -> None:
    if not _WATCH["on"]:
        return
    if event == "open":
        mode, flags = args[1], args[2]
        if (isinstance(mode, str) and set(mode) & set("wax+")) or (
            isinstance(flags, int) and flags & 3
        ):
            _WRITTEN.append(f"{event} {args[0]}")
    elif event in _CHANGES:
        _WRITTEN.append(f"{event} {args}")


sys.addaudithook(_watch)


@contextlib.contextmanager
def nothing_written() -> Iterator[None]:
    """Fail when a file is written, moved or removed, or a program started, in the block."""
    _WRITTEN.clear()
    _WATCH["on"] = True
    try:
        yield
    finally:
        _WATCH["on"] = False
    assert _WRITTEN == []


@pytest.fixture(autouse=True, scope="module")
def warm() -> None:
    """The parser's cache is written once, before anybody looks."""
    findings_of(view(RECIPES["simple"]))


# -- what holds for every text ------------------------------


def holds(text: str) -> None:
    """Everything that must hold for whatever is typed."""
    with nothing_written():
        source = source_from_text(text, "x.weave")
        first = findings_of(view_of(source))
        again = findings_of(view_of(source_from_text(text, "x.weave")))
        shown = plain(file_lines(FileReport(source, first)))
    assert first == again
    assert list(first) == sorted(first, key=lambda f: (f.span.line, f.span.column))
    for finding in first:
        for span in (finding.span, *(label.span for label in finding.labels)):
            assert 1 <= span.line <= len(source.lines), finding
            width = len(source.lines[span.line - 1])
            assert 1 <= span.column <= span.end <= max(2, width + 1), finding
            assert span.column < span.end or width == 0, finding
        assert finding.message
        assert "\n" not in finding.message
        assert all(finding.help), "no empty line of help"
        assert finding.rule.name in shown
    assert len({(f.rule.name, f.span, f.message) for f in first}) == len(first), "told twice"
    steering = {unicodedata.category(c) for c in shown if c != "\n"} & {"Cc", "Cs", "Zl", "Zp"}
    assert not steering


WORDS = [w for g in (VERBS, OPTIONS, PLACES, PIECE_WORDS) for phrase in g for w in phrase.split()]
NAMES = ["A", "B", "core", "M1", "S2", "core 1", "M", "S", "all", "clasp", "環"]
MARKS = [",", ",", ",", ":", "=", '"', "#", ".", "(", "/", "'"]
NUMBERS = ["0", "1", "2", "3", "12", "1.2", "5/16", "1,2", "99999999999999999999", "-1"]
token = st.sampled_from(
    [*WORDS, *sorted(RESERVED), *NAMES, *NAMES, *MARKS, *NUMBERS, "mm", "if there"]
)
line = st.lists(token, min_size=1, max_size=9).map(" ".join)
heading = st.sampled_from([h + ":" for h in HEADINGS] + ["unit 1:", "unit 2:", "unit a:", "row"])
stream = st.lists(st.one_of(line, line, line, heading), max_size=14).map("\n".join)


@given(st.text(max_size=200))
@settings(max_examples=150)
def test_any_text(text: str) -> None:
    holds(text)


@given(stream)
@settings(max_examples=250)
def test_any_stream_of_the_words_of_the_language(text: str) -> None:
    holds(text)


@given(st.binary(max_size=120))
@settings(max_examples=150)
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    with nothing_written():
        source = None
        with contextlib.suppress(Unreadable):
            source = source_from_bytes(data, "x.weave")
        if source is None:
            with pytest.raises(Unreadable, match=r"x\.weave"):
                source_from_bytes(data, "x.weave")
            return
        assert plain(file_lines(FileReport(source, findings_of(view_of(source)))))


# -- recipes with a few things changed ------------------------------


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """A right recipe with one to four lines or words changed, dropped, doubled or moved."""
    text = TEXTS[draw(st.sampled_from(sorted(TEXTS)))]
    lines = text.split("\n")
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        kind = draw(st.sampled_from(["drop", "double", "swap", "word", "word", "word", "join"]))
        other = draw(st.integers(0, len(lines) - 1))
        if kind == "drop" and len(lines) > 1:
            del lines[at]
        elif kind == "double":
            lines.insert(other, lines[at])
        elif kind == "swap":
            lines[at], lines[other] = lines[other], lines[at]
        elif kind == "join":
            lines[at] += " " + draw(token)
        else:
            words = lines[at].split(" ")
            spot = draw(st.integers(0, len(words) - 1))
            change = draw(st.sampled_from(["token", "drop", "letter"]))
            if change == "token":
                words[spot] = draw(token)
            elif change == "drop":
                del words[spot]
            elif words[spot]:
                cut = draw(st.integers(0, len(words[spot]) - 1))
                words[spot] = words[spot][:cut] + words[spot][cut + 1 :]
            lines[at] = " ".join(words)
    return "\n".join(lines)


@given(mutated())
@settings(max_examples=150)
def test_any_recipe_with_a_few_things_changed(text: str) -> None:
    holds(text)


@given(st.one_of(mutated(), stream))
@settings(max_examples=40)
def test_the_exit_code_and_the_json_say_what_the_findings_say(text: str) -> None:
    seen = view(text, "standard input")
    found = findings_of(seen)
    for words in (["check", "-"], ["check", "--json", "-"]):
        out, err = io.StringIO(), io.StringIO()
        piped = io.TextIOWrapper(io.BytesIO(text.encode("utf-8", "replace")))
        with pytest.MonkeyPatch.context() as patched, nothing_written():
            patched.setattr(sys, "stdin", piped)
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                code = main(words)
        assert err.getvalue() == ""
        assert code == (1 if has_errors(found) else 0)
    (file,) = json.loads(out.getvalue())["files"]
    assert file["ok"] == (code == 0)
    assert [(f["rule"], f["line"], f["column"], f["message"]) for f in file["findings"]] == [
        (f.rule.name, f.span.line, f.span.column, f.message) for f in found
    ]


# -- changes that mean nothing ------------------------------


@given(st.sampled_from(sorted(TEXTS)), st.data())
@settings(max_examples=40)
def test_blanks_comments_and_capitals_change_nothing(name: str, data: st.DataObject) -> None:
    """Only the places move: blank lines, comments, wider gaps and words in capitals."""
    lines = []
    for text in TEXTS[name].rstrip("\n").split("\n"):
        how = data.draw(st.sampled_from(["as is", "gap", "comment", "blank", "capitals"]))
        if how == "gap" and '"' not in text:
            text = text.replace(" ", "  ") + "   "
        elif how == "comment":
            text += "  # a note"
        elif how == "blank":
            lines.append("")
        elif how == "capitals" and not text.startswith("weave"):
            words = text.split(" ")
            text = " ".join(w.upper() if w.rstrip(":") in RESERVED else w for w in words)
        lines.append(text)
    changed = "\n".join(lines) + "\n"
    as_it_was = [f.message for f in findings_of(view(RECIPES[name]))]
    assert [f.message for f in findings_of(view(changed))] == as_it_was


def test_nothing_is_written_by_a_check_of_a_file(tmp_path: Path) -> None:
    path = tmp_path / "x.weave"
    path.write_text(RECIPES["persian"], encoding="utf-8")
    with nothing_written(), contextlib.redirect_stdout(io.StringIO()):
        assert main(["check", str(path)]) == 0
    with pytest.raises(AssertionError), nothing_written():
        path.write_text("the watch itself works", encoding="utf-8")
