"""Recipes that mean harm or mishap: words and an exit code, never a traceback.

The random recipes come from `fuzz.py`, which runs longer and prints numbers. Limits are counted in
bytes, lines, letters and single moves, so nothing here measures time.
"""

from __future__ import annotations

import csv
import io
import json
import os
import random
import re
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest
from fuzz import MAKERS, NASTY, STEERS, every_command, run
from helpers import SIMPLE, SPIRAL
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from test_hostile_files import process

from ringstep.checks.report import MOST_TOLD
from ringstep.commands.cli import main
from ringstep.commands.rim import MOST_PRINTED
from ringstep.language.screen import safe
from ringstep.language.source import MOST_BYTES, MOST_LETTERS, MOST_LINES, source_from_text
from ringstep.language.syntax import MOST_AT_ONCE
from ringstep.paper.printed import as_csv
from ringstep.weave.effort import MOST_DRAWN, MOST_NAMES, MOST_STEPS, MOST_WORK

Out = pytest.CaptureFixture[str]


def stopped(text: str, *argv: str) -> str:
    """Why a command refuses a recipe (the words behind 'ringstep: '), checked to be one line."""
    Path("it.weave").write_text(text, encoding="utf-8", newline="")
    told = run((*(argv or ("check",)), "it.weave"))
    assert not told.fault
    assert (told.code, told.out) == (2, "")
    assert told.err.startswith("ringstep: it.weave")
    assert told.err.count("\n") == 1
    return told.err


# -- random recipes --------------------------------------------------------------------------------


@pytest.mark.parametrize("maker", dict.fromkeys(MAKERS), ids=lambda m: m.__name__)
def test_random_recipes_through_every_command(maker, tmp_path: Path) -> None:
    for seed in range({"grown": 2, "dressed": 6}.get(maker.__name__, 12)):
        text = maker(random.Random(seed))
        place = tmp_path / str(seed)
        place.mkdir()
        faults = [(t.fault, t.argv, t.err) for t in every_command(text, place) if t.fault]
        assert not faults, text


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=200), st.binary(max_size=40))
def test_any_text_and_any_bytes(tmp_path: Path, text: str, data: bytes) -> None:
    file = tmp_path / "any.weave"
    for content in (text.encode(), data, SIMPLE.replace("A", text or "A").encode() + data):
        file.write_bytes(content)
        for command in ("check", "steps"):
            assert run((command, str(file))).fault == ""


# -- limits, counted -------------------------------------------------------------------------------


def test_limits_have_not_moved_unseen() -> None:
    assert (MOST_BYTES, MOST_LINES, MOST_LETTERS) == (500_000, 20_000, 4_000)
    assert (MOST_AT_ONCE, MOST_WORK, MOST_TOLD) == (500, 1_000_000, 100)
    assert (MOST_STEPS, MOST_PRINTED, MOST_DRAWN) == (2_000, 1_000, 40_000)
    assert MOST_NAMES == 300


def test_bytes_lines_and_letters(folder: Path) -> None:
    assert "52,500,000 bytes" in stopped("add A through prev A\n" * 2_500_000)
    assert "100,001 lines" in stopped("unit:\n" + "a\n" * 99_999)
    assert "line 9: this line has 34," in stopped(
        SIMPLE.replace("prev A", ", ".join(f"prev A{n}" for n in range(1, 3001)))
    )
    for long in ("n" * 10_000, "9" * 5_000, "A" * 400_000, "(" * 5_000, '"#' * 5_000):
        assert "a line has at most 4,000" in stopped(SIMPLE.replace("prev A", long))
    (folder / "it.weave").write_text("# \n" * (MOST_LINES - 20) + SIMPLE, encoding="utf-8")
    assert main(["check", "it.weave"]) == 0, "at the limit a recipe is read"


@pytest.mark.parametrize("number", ["999999999999", "501"])
def test_rings_at_once(folder: Path, number: str) -> None:
    words = stopped(SIMPLE.replace("add A", f"add {number} A"))
    assert f"line 9: step 2 places {int(number):,} rings at once; at most 500" in words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (SIMPLE.replace("add A", "add 500 A").replace("close A", "close 500 A"), "step 2, line 9"),
        (SIMPLE.replace("unit:", "unit 999999999999:"), "line 8 has the highest number"),
        (SIMPLE.replace("unit:", "unit 3:\n  add A through prev A\nunit 2000000:"), "line 10 has"),
    ],
)
def test_work_is_counted_before_it_is_done(folder: Path, text: str, words: str) -> None:
    told = stopped(text)
    assert "takes more than 1,000,000 single moves, so it is not done" in told
    assert words in told


def _patterns(lengths: list[int]) -> str:
    sides = (["front"] * (n - 1) + ["back"] for n in lengths)
    rows = [f"  p{chr(97 + at // 26)}{chr(97 + at % 26)}q lay {', '.join(s)}" for at, s in
            enumerate(sides)]  # fmt: skip
    text = SPIRAL.replace("lay front", "lay varies").replace("60 units", "99999999 units")
    return text.replace("start:", "\n".join(["variants:", *rows, "start:"]))


def test_patterns_that_never_come_round(folder: Path) -> None:
    primes = [p for p in range(2, 560) if all(p % q for q in range(2, p))]
    for count in (6, len(primes)):
        assert "only after more than 1,000 units" in stopped(_patterns(primes[:count]))
    (folder / "it.weave").write_text(_patterns([2] * 300), encoding="utf-8")
    assert main(["check", "it.weave"]) == 0, "many variants of one length are no trouble"


@pytest.mark.parametrize(
    "piece",
    ["chain 999999999999 units", "loop 999999999999 units", "chain 999999999999 in",
     "sheet 999999999 rows of 999999999 units", "tube 999999999 rows of 999999999 units",
     "chain 0 units", "sheet 0 rows of 0 units", "chain 0 mm", "chain -3 units", "chain 1/0 mm",
     "chain 190 mm\n  sample 0 units = 0 mm", "chain 1/9999999999 mm\n  sample 9 units = 1 mm",
     "chain 999999999999 mm\n  sample 1 units = 1/9999999999 mm"],
)  # fmt: skip
def test_pieces_of_absurd_size(tmp_path: Path, piece: str) -> None:
    text = SIMPLE.replace("chain 30 units", piece)
    if "rows" in piece:
        text = text.replace("unit:", "row:").replace("prev A", "above A")
    assert [t.fault for t in every_command(text, tmp_path) if t.fault] == []


@pytest.mark.parametrize(
    "size",
    ["0 mm", "-1 mm", "1/0 mm", "0/0 mm", "1/999999999999 mm", "999999999999 in", "0.0000000001 mm",
     "1/" + "9" * 400 + " mm", "9" * 3_900 + " mm", "٣ mm", "1e9 mm", "nan mm", "inf mm"],
)  # fmt: skip
def test_sizes_of_absurd_value(tmp_path: Path, size: str) -> None:
    for old in ("1.2 mm", "5 mm"):
        place = tmp_path / str(old[0])
        place.mkdir()
        text = SIMPLE.replace(f" {old}", f" {size}")
        assert [t.fault for t in every_command(text, place) if t.fault] == []


def _steps(count: int) -> str:
    more = "".join(f"  add A{n} through A{n - 1} picks 1\n" for n in range(2, count))
    text = SIMPLE.replace("  close A\n", f"  close A1\n{more}")
    return text.replace("through prev A", "through prev A1")


def test_steps_counted_printed_and_drawn(folder: Path) -> None:
    for count in (2_001, 10_000):
        assert f"it.weave has {count:,} steps, and a recipe has at most 2,000" in stopped(
            _steps(count)
        )
    assert "hand-out has at most 1,000" in stopped(_steps(1_001), "handout", "--pictures", "none")
    for command in ("draw", "handout"):
        assert "a section of 200 rings, too many to draw" in stopped(_steps(201), command)
    assert main(["check", "it.weave"]) == 0


def test_ten_thousand_names(folder: Path, capsys: Out) -> None:
    names = ["n" + "".join(chr(97 + n // 26**k % 26) for k in range(3)) for n in range(10_000)]
    kinds = [f"  {n}  wire 1 mm, inside 5 mm, copper\n" for n in names]
    few = SIMPLE.replace("expect:\n", f"{''.join(kinds[: MOST_NAMES - 2])}expect:\n")
    Path("it.weave").write_text(few, encoding="utf-8")
    told = run(("check", "it.weave"))
    assert (told.code, told.fault) == (1, "")
    assert "no step places naaa" in told.out
    placed = "".join(f"  add {n} through A\n" for n in names)
    most = f"names of rings and parts, and a recipe has at most {MOST_NAMES}"
    lists = "".join(f"  add A through {n}\n" for n in names[:900])
    promises = "".join(f"  A meets 2 {n}\n" for n in names)
    for text in (
        SIMPLE.replace("prev A\n", f"prev A\n{placed}"),
        SIMPLE.replace("prev A\n", f"prev A\n{lists}"),
        SIMPLE.replace("expect:\n", f"{''.join(kinds)}expect:\n"),
        SIMPLE.replace("expect:\n", f"expect:\n{promises}"),
    ):
        assert most in stopped(text)


def test_five_hundred_words_of_place(folder: Path) -> None:
    text = SPIRAL.replace("prev prev A", "prev " * 500 + "A").replace("60", "999999")
    (folder / "it.weave").write_text(text, encoding="utf-8")
    assert main(["check", "it.weave"]) == 0


def test_a_hundred_findings_are_told_and_the_rest_is_counted(folder: Path, capsys: Out) -> None:
    (folder / "it.weave").write_text("unit:\n" + "  a b\n" * 15_000, encoding="utf-8")
    assert main(["check", "it.weave"]) == 1
    out = capsys.readouterr().out
    assert out.count("error: ") == MOST_TOLD
    assert "and 14,900 more; mend these first" in out
    assert out.endswith("it.weave: 15,000 errors\n")
    assert main(["check", "it.weave", "--json"]) == 1
    found = json.loads(capsys.readouterr().out)["files"][0]["findings"]
    assert len(found) == 15_000, "a program gets them all"


def test_a_long_name_does_not_fill_the_screen(folder: Path, capsys: Out) -> None:
    (folder / "it.weave").write_text(SIMPLE.replace("prev A", "n" * 3_000), encoding="utf-8")
    assert main(["check", "it.weave"]) == 1
    assert max(map(len, capsys.readouterr().out.splitlines())) < 450


@given(st.text(st.sampled_from('wire #1"x\t ')), st.integers(1, 30))
def test_comments_are_found_as_before(text: str, times: int) -> None:
    """Against the plain reading, mark by mark; the one in use does not look back each time."""
    line, quoted, cut = text * times, False, None
    for at, mark in enumerate(line):
        gauge = re.match(r"#\d", line[at:]) and line[:at].rstrip().endswith("wire")
        if mark == '"':
            quoted = not quoted
        elif mark == "#" and not gauge and not (quoted and '"' in line[at:]):
            cut = at
            break
    assert source_from_text(line).plain == (line[:cut].replace("\t", " "),)


# -- lines that could be tried in ever so many ways ------------------------------------------------


_LONG = {
    "figures": ("rings", "B wire 1 mm, inside 5 mm, " + "1" * 3_900),
    "figures and commas": ("rings", "B " + "1," * 1_950),
    "stops": ("finish", "add B through A " + "!" * 3_900 + "x"),
    "items without a verb": ("finish", "B " + ", a " * 900),
    "items with blanks": ("finish", "B" + "  ,  a  b" * 400),
    "words": ("parts", "clasp " + "a " * 1_950),
}


@pytest.mark.parametrize("kind", _LONG)
def test_a_long_line_is_told_as_a_short_one(folder: Path, kind: str) -> None:
    """Each of these once took from seconds to for ever; the process below is given a minute."""
    section, line = _LONG[kind]
    text = SIMPLE if section != "rings" else SIMPLE.replace("rings:", f"rings:\n  {line}")
    if section != "rings":
        text += f"{section}:\n  {line}\n"
    for times in (1, 12):
        (folder / "it.weave").write_text(text.replace(line, f"{line}\n  " * times))
        done = process("check", "it.weave", cwd=folder)
        assert (done.returncode, done.stderr) == (1, b"")
        assert done.stdout.decode().count("error: ") == times


def test_many_empty_sections_and_their_tidy_form(folder: Path) -> None:
    """Both looked through all sections for each section: two and a half minutes."""
    text = SIMPLE + "".join(f"unit {n}:\n" for n in range(1, 9_001))
    (folder / "it.weave").write_text(text, encoding="utf-8")
    done = process("tidy", "--check", "it.weave", cwd=folder)
    assert (done.returncode, done.stdout) == (0, b"it.weave: tidy already\n")


def test_a_twin_section_names_the_first(folder: Path) -> None:
    told = run(("check", _written(SIMPLE + "unit a:\n  add A through prev A\nunit:\n  hold A\n")))
    assert "there are two 'unit:' sections (the first is on line 8)" in told.out


@pytest.mark.parametrize("size", ["9" * 400 + " 1/2 mm", "9" * 3_000 + " 1/2 mm"])
def test_a_mixed_number_without_end(folder: Path, size: str) -> None:
    told = run(("check", _written(SIMPLE.replace(" 5 mm", f" {size}"))))
    assert (told.code, told.fault) == (1, "")
    assert told.out.startswith("error: '999")


def _written(text: str) -> str:
    Path("it.weave").write_text(text, encoding="utf-8", newline="")
    return "it.weave"


@pytest.mark.parametrize(
    "blank", ["\x0b", "\x0c", "\x1c", "\x85", "\u1680", "\u2003", "\u2028", "\u2029", "\u205f"]
)
def test_every_blank_is_one(folder: Path, blank: str) -> None:
    """As the language reads a tab or a full-width blank; one at the end of a line broke it."""
    for text in (
        SIMPLE.replace("through prev A", f"through{blank}prev A"),
        SIMPLE.replace("A meets 2", f"A meets 2{blank}"),
    ):
        assert run(("check", _written(text))).code == 0
    told = run(
        ("check", _written(SIMPLE.replace("through prev A", f"through prev A picks {blank}")))
    )
    assert (told.code, told.fault) == (1, "")
    assert "'picks' is followed by a number" in told.out


# -- words that mean something elsewhere -----------------------------------------------------------


class _Page(HTMLParser):
    """The elements of a page and those attributes of theirs that can do something."""

    def __init__(self) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.deeds: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.add(tag)
        self.deeds += [k for k, v in attrs if k.startswith("on") or "script:" in (v or "")]


def _with(words: str) -> str:
    plain = re.sub(r'[\r\n"#]', " ", words)
    text = SIMPLE.replace("Simple chain", f"T{plain}T").replace("copper", "copper, colour red")
    text = text.replace("30 units", "30 units\n  sample 10 units = 41 mm")
    hinted = text.replace("prev A\n", f"prev A\n    hint {plain}\n")
    return hinted + f"notes:\n  about {plain}\n  sizes {plain}\n  source {plain}\n"


def _pages(folder: Path, words: str) -> dict[str, _Page]:
    """Every page made of a recipe that says those words wherever it can."""
    folder.mkdir()
    for told in every_command(_with(words), folder):
        assert not told.fault, (told.argv, told.err)
    pages = {}
    for file in (folder / "out").iterdir():
        text = file.read_text(encoding="utf-8")
        assert not STEERS.search(text), file.name
        if file.suffix == ".html":
            pages[file.name] = _Page()
            pages[file.name].feed(text)
    return pages


@pytest.fixture(scope="module")
def harmless(tmp_path_factory: pytest.TempPathFactory) -> dict[str, _Page]:
    """The same pages with words that mean nothing."""
    return _pages(tmp_path_factory.mktemp("harmless") / "it", "words")


@pytest.mark.parametrize("words", NASTY)
def test_titles_hints_and_notes(folder: Path, harmless: dict[str, _Page], words: str) -> None:
    pages = _pages(folder / "it", words)
    assert len(harmless) == 5
    for name, page in pages.items():
        # a hint that is left empty has no words set apart
        assert page.names | {"em"} == harmless[name].names | {"em"}
        assert not page.deeds
    readable = not re.search("[\r\n]", words) and "\0" not in words
    assert len(pages) == 5 or not readable, "such words stop no page"


def test_no_table_begins_a_formula(folder: Path) -> None:
    names = ("=1+1", "@SUM(1)", "+1", "-1")
    stock = "ring,wire,inside,colour\n" + "".join(f"{n},1.2 mm,5 mm,{n}\n" for n in names)
    (folder / "stock.csv").write_text(stock, encoding="utf-8")
    told = run(("sizes", "it.weave", "--stock", "stock.csv", "--csv"))
    cells = [c for row in csv.reader(io.StringIO(told.out)) for c in row]
    assert {f"'{n}" for n in names} <= set(cells)
    assert not [c for c in cells if c[:1] in "=+-@\t\r" and c]


def test_tables_show_marks_that_steer(folder: Path) -> None:
    """A CSV table is read on a terminal too, and a blank in front makes a formula no safer."""
    ring = "\x9bA"
    text = SIMPLE.replace("A", ring).replace("copper", "copper, colour \x1bc")
    (folder / "it.weave").write_text(text, encoding="utf-8")
    for command in ("count", "kit"):
        told = run((command, "it.weave", "--csv"))
        assert (told.code, told.fault) == (0, "")
        assert not STEERS.search(told.out.replace("\r\n", "\n"))
        assert "\ufffdA" in told.out
    assert (
        as_csv(("a",), [{"a": "\t=1"}, {"a": " @x"}, {"a": "\x1b"}]) == "a\r\n' =1\r\n' @x\r\n␛\r\n"
    )


def test_json_says_the_same_and_steers_nothing(folder: Path) -> None:
    words = "\x1b \x7f \x9b \u202e \u2066 \u200b 輪 \U0001f701 \ufeff"
    text = SIMPLE.replace("Simple", words).replace("copper", "copper, colour red")
    (folder / "it.weave").write_text(text, encoding="utf-8")
    told = run(("count", "it.weave", "--json"))
    assert not told.fault
    assert "輪" in told.out
    assert json.loads(told.out)["title"] == f"{words} chain"


@pytest.mark.parametrize("name", ["\x1b]0;x\x07", "\x1b[2J", "\u202ex", "\x9bm", "\u200b", "a\nb"])
def test_names_of_files_and_options_cannot_steer_a_terminal(folder: Path, name: str) -> None:
    os.rename("it.weave", f"{name}.weave")
    here = f"{name}.weave"
    for argv in (
        ("check", here),
        ("check", f"no{name}"),
        ("steps", f"no{name}"),
        ("steps", here, "--variant", name),
        ("draw", here, "--format", "dot"),
        ("handout", here, "--pictures", "none"),
        ("kit", here, "--slip", f"{name}.html"),
        ("kit", here, "--prices", f"no{name}"),
        ("kit", here, "--length", name),
        ("sizes", "--wire", name),
        ("sizes", here, "--ring", name),
        ("mandrel", here, "--ar", "4", "--metal", name),
        ("mandrel", here, "--ar", "4", "--coil", name),
        ("mandrel", here, "--ar", name),
        ("weaves", "--show", name),
        ("weaves", "--copy", "byzantine", "--to", f"{name}x.weave"),
        ("explain", name),
        (f"x{name}",),
        ("check", here, f"--{name}"),
        ("kit", here, "--paper", name),
        ("new", f"{name}new"),
    ):
        told = run(argv)
        assert not told.fault, argv


@pytest.mark.parametrize("name", ["\x1bcA", "\x9bA", "<b>", "&", "a\u202e", "🜁", "A\u0301", "輪"])
def test_computed_pictures_of_odd_names(
    folder: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.setenv("RINGSTEP_CACHE", "k")
    _written(
        re.sub(r"\bA\b(?! meets| rings)", lambda _: name, SIMPLE).replace(
            "A meets", f"{name} meets"
        )
    )
    for command in (("fit", "it.weave", "--effort", "0"), ("draw", "it.weave", "--rings")):
        told = run((*command, "--to", "out"))
        assert (told.code, told.fault) == (0, ""), told.err
    assert {"form-front.svg", "form-side.svg", "rings-02.svg"} <= {
        p.name for p in Path("out").iterdir()
    }
    for picture in Path("out").glob("*.svg"):
        text = picture.read_text(encoding="utf-8")
        assert not STEERS.search(text)
        assert {e.tag.rpartition("}")[2] for e in ElementTree.fromstring(text).iter()} <= {
            "svg", "title", "path", "g", "rect", "circle", "polygon", "line", "ellipse", "desc",
            "defs", "use", "text",
        }  # fmt: skip
        assert all(href.startswith("#") for href in re.findall(r'href="([^"]*)"', text))


def test_safe_shows_what_cannot_be_seen_and_keeps_what_is_written() -> None:
    assert safe("a\u200bb\u00adc\u2060d\U000e0041") == "a\ufffdb\ufffdc\ufffdd\ufffd"
    assert safe("می\u200cخواهم क्\u200dष") == "می\u200cخواهم क्\u200dष", "joiners belong to words"
