"""Hostile recipes for every command, for as long as one likes: prints how many and what went wrong.

    python tests/fuzz.py 300 7       300 seconds from seed 7

`tests/test_hostile.py` runs a fixed handful of the same recipes. Each recipe is run through every
command in this process; a run is at fault where it ends in anything but an exit code and words,
prints a mark that steers a terminal, changes the recipe, or leaves a file that was not asked for.
"""

from __future__ import annotations

import contextlib
import io
import random
import re
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "recipe"), str(ROOT / "tests")]

from helpers import BYZANTINE, DOUBLED, FLOWERS, SIMPLE, SPIRAL, SPIRAL_LOOP  # noqa: E402

from ringstep.commands.cli import main  # noqa: E402
from ringstep.language.words import HEADINGS, OPTIONS, PIECE_WORDS, PLACES, VERBS  # noqa: E402

#: What is typed for one recipe; FILE stands for it, OUT for a folder that may be written in.
RUNS: tuple[tuple[str, ...], ...] = (
    ("check", "FILE"),
    ("check", "FILE", "--json"),
    ("steps", "FILE"),
    ("steps", "FILE", "--markdown"),
    ("count", "FILE"),
    ("count", "FILE", "--json"),
    ("count", "FILE", "--csv"),
    ("sizes", "FILE"),
    ("sizes", "FILE", "--csv", "--wire", "1.2 mm", "--inside", "5 mm"),
    ("mandrel", "FILE", "--metal", "brass", "--saw", "0.5 mm"),
    ("mandrel", "FILE", "--csv", "--mandrel", "5 mm", "--wire", "1.2 mm +- 0.02 mm"),
    ("kit", "FILE", "--csv"),
    ("kit", "FILE", "--length", "19 cm", "--slip", "OUT/slip.html"),
    ("lesson", "FILE", "--pace", "20", "--batch", "7", "--sheet", "OUT/lesson.html", "--json"),
    ("alike", "FILE", "FILE"),
    ("draw", "FILE", "--format", "dot", "--to", "OUT"),
    ("handout", "FILE", "--pictures", "none", "--to", "OUT/page.html"),
    ("handout", "FILE", "--pictures", "none", "--draft", "--teacher", "--to", "OUT/draft.html"),
    ("handout", "FILE", "--rings", "none", "--screen", "--to", "OUT/follow.html"),
    ("sizes", "FILE", "FILE", "--stock", str(ROOT / "examples" / "stock.csv"), "--json"),
    ("kit", "FILE=2", "FILE", "--prices", str(ROOT / "examples" / "prices.csv")),
    ("tidy", "--show", "FILE"),
    ("tidy", "--check", "FILE"),
)

#: Text that means something to a page, a picture, a terminal, a spreadsheet or an eye.
NASTY = (
    "<script>alert(1)</script>", '" onload="x', "&lt;b&gt;", "]]>", "--><b>", "<!--", "\\N\\G\\l",
    "\x1b[31m", "\x1b]0;title\x07", "\x9b31m", "\x07", "\x08", "\x7f", "=1+1", "@SUM(1)", "+1",
    "-1+1", "\u202e", "\u2066", "\u200b", "\u00ad", "\u2028", "\u0085", "\x0b", "\x0c", "A\u0301",
    "\u0410", "\ufeff", "\U000e0041", "²", "٣", "½", "🜁", "%s%n", "{0}", "${x}", "`x`", "'", '"',
    "“", "»", "\\", "//", "\t", "\r", "#", "##", ",", ",,", ":", "：", "=", "/", "1/0", "0", "-0",
    "0.0000000001", "999999999999", "9" * 40, "n" * 300, "prev " * 60,
)  # fmt: skip
_SIDES = ("front", "back", "varies")
_OTHER = ("weave", "meets", "hint", "wire", "units", "rows of", "if there", "mm", "swg", "AR")
WORDS = (*VERBS, *OPTIONS, *PLACES, *PIECE_WORDS, *_SIDES, *_OTHER)
NAMES = ("A", "B", "M1", "S2", "core", "core 1", "Ä", "輪", "all", "2 A")
#: Recipes with every section of the language, which those of the library do not all have.
SHIPPED = tuple(
    path.read_text(encoding="utf-8")
    for folder in ("library", "examples", "tests/cases")
    for path in sorted((ROOT / folder).glob("*.weave"))
)
WHOLE = (SIMPLE, DOUBLED, BYZANTINE, SPIRAL, SPIRAL_LOOP, FLOWERS, *SHIPPED)
_TOKEN = re.compile(r"\w+|[^\w\n]|\n")
#: Marks that steer a terminal or turn the direction of a text.
STEERS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\u200e\u200f\u061c]")


def noise(r: random.Random) -> str:
    """Any text at all, with line ends and colons enough to look like sections."""
    marks = ["\n", ":", " ", ",", '"', *NASTY, *(chr(r.randrange(1, 0xD7FF)) for _ in range(9))]
    return "".join(r.choice(marks) for _ in range(r.randrange(1, 120)))


def stream(r: random.Random) -> str:
    """Words of the language in any order, a few to a line, under headings."""
    lines = []
    for _ in range(r.randrange(1, 25)):
        if r.random() < 0.25:
            lines.append(f"{r.choice(HEADINGS)}{r.choice(['', ' 1', ' a'])}:")
        pool = (*WORDS, *NAMES, *NAMES, ",", ",", "1", "2", "30", "1.2", '"x"', r.choice(NASTY))
        lines.append(" ".join(r.choice(pool) for _ in range(r.randrange(1, 9))))
    return "\n".join(lines)


def mutated(r: random.Random) -> str:
    """A recipe that works, with a few words of it lost, doubled, exchanged or made nasty."""
    parts = _TOKEN.findall(r.choice(WHOLE))
    for _ in range(r.choice((1, 1, 1, 2, 3, 8))):
        at, other = r.randrange(len(parts)), r.randrange(len(parts))
        match r.randrange(6):
            case 0:
                parts[at] = ""
            case 1:
                parts[at] *= 2
            case 2:
                parts[at], parts[other] = parts[other], parts[at]
            case 3:
                parts[at] = r.choice(NASTY)
            case 4:
                parts[at] += r.choice(NASTY)
            case _:
                parts[at] = r.choice((*WORDS, *NAMES))
    return "".join(parts)


def lines_moved(r: random.Random) -> str:
    """A recipe that works with whole lines lost, doubled, moved or taken from another recipe."""
    lines = r.choice(WHOLE).split("\n")
    for _ in range(r.randrange(1, 4)):
        at = r.randrange(len(lines))
        match r.randrange(4):
            case 0:
                lines.insert(at, r.choice(r.choice(WHOLE).split("\n")))
            case 1:
                lines.insert(r.randrange(len(lines)), lines[at])
            case 2 if len(lines) > 1:
                del lines[at]
            case _:
                other = r.randrange(len(lines))
                lines[at], lines[other] = lines[other], lines[at]
    return "\n".join(lines)


def grown(r: random.Random) -> str:
    """A recipe made by rule: it reads well, and often checks clean."""
    roles = r.sample("ABCDEFGH", r.randrange(1, 5))
    flat = r.random() < 0.4
    lines = ['weave "Grown"', "rings:", "  all wire 1.2 mm, inside 9 mm, copper", "start:"]
    lines += [f"  close {r.choice(('', '2 '))}{role}" for role in roles if not flat]
    lines += ["  close A"] if flat else []
    lines.append("row:" if flat else "unit:")
    far = ("above ", "above next ", "above prev ", "prev ") if flat else ("prev ", "prev prev ")
    for at, role in enumerate(roles):
        ways = [f"{r.choice(far)}{r.choice(roles)} if there" for _ in range(r.randrange(1, 4))]
        ways += r.sample(roles[:at], r.randrange(at + 1))
        lay = r.choice(("", " lay front", " lay back", " lay varies", " picks 2", " skip at edge"))
        lines.append(f"  add {r.choice(('', '2 '))}{role} through {', '.join(ways)}{lay}")
        lines += [f"  {r.choice(('fold back', 'spread', 'turn over'))} {role}"] * (r.random() < 0.2)
    rows, units = r.choice((1, 2, 7, 999_999)), r.choice((1, 2, 5, 40, 999_999_999))
    grid = f"{r.choice(('sheet', 'tube'))} {rows} rows of {units} units"
    kind = grid if flat else f"{r.choice(('chain', 'chain', 'loop'))} {units} units"
    lines += ["variants:", "  x lay front, back", "  y lay back, back, front"]
    return "\n".join([*lines, "piece:", f"  {kind}", "  sample 10 units = 41 mm"]) + "\n"


def dressed(r: random.Random) -> str:
    """A recipe that works, with nasty words in its title, hints, notes and names: mostly clean."""
    text = r.choice(WHOLE)
    said = [re.sub(r'[\r\n"#]', " ", r.choice(NASTY)) for _ in range(3)]
    text = re.sub(r'(weave "[^"]*)"', lambda m: f'{m[1]} {said[0]}"', text, count=1)
    text = re.sub(r"(\n +hint .*)", lambda m: f"{m[1]} {said[1]}", text)
    text = text.replace("\nnotes:\n", f"\nnotes:\n  about {said[2]}\n  sizes {said[0]}\n")
    old, new = (
        r.choice("ASMB"),
        r.choice(("Ä", "輪", "A\u0301", "\u0410", "<b>", "&", "\x1bcA", "\x9bA", "a\u202e")),
    )
    return re.sub(rf"\b{old}(?=\d*\b)", new, text) if r.random() < 0.6 else text


MAKERS = (noise, stream, mutated, mutated, lines_moved, grown, dressed, dressed)
#: Commands that begin as `check` does, and so add little where it finds errors.
LIKE_CHECK = ("count", "sizes", "kit", "alike", "draw")


@dataclass
class Told:
    """What one run did. fault: what is wrong with it, or nothing."""

    argv: tuple[str, ...]
    code: int
    out: str
    err: str
    seconds: float
    fault: str = ""


class TooLong(Exception):
    """A run took longer than this script waits."""


def _late(*_: object) -> None:
    raise TooLong


def run(argv: tuple[str, ...], wait: int = 0) -> Told:
    """Run one command in this process, for at most so many seconds (0: as long as it takes)."""
    out, err, code, fault = io.StringIO(), io.StringIO(), -1, ""
    began = time.perf_counter()
    if wait:
        signal.signal(signal.SIGALRM, _late)
        signal.alarm(wait)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main(argv)
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else -1
    except BaseException as slip:  # every kind is a fault, and Ctrl-C is caught by the command line
        where = traceback.extract_tb(slip.__traceback__)[-1]
        fault = f"{type(slip).__name__} at {Path(where.filename).name}:{where.lineno}"
        if isinstance(slip, KeyboardInterrupt):
            raise
    finally:
        if wait:
            signal.alarm(0)
    text, words = out.getvalue(), err.getvalue()
    if not fault and (own := re.search(r"fault of ringstep itself.*?: (.*?) \(", words)):
        fault = "TooLong" if "TooLong" in own[1] else own[1]
    if not fault and code not in (0, 1, 2):
        fault = f"exit code {code}"
    # What 'tidy --show' prints is a recipe, letter for letter.
    plain = ("" if "--show" in argv else text.replace("\r\n", "\n")) + words
    if not fault and (steering := STEERS.search(plain)):
        fault = f"prints {steering[0]!r}"
    if not fault and code == 2 and not words.strip() and "--json" not in argv:
        fault = "stops without a word"
    return Told(argv, code, text, words, time.perf_counter() - began, fault)


def every_command(text: str, folder: Path, wait: int = 0) -> Iterator[Told]:
    """Run a recipe through all of `RUNS` in an empty folder, and look at what is left there."""
    file, out = folder / "it.weave", folder / "out"
    data = text.encode("utf-8", "surrogatepass")
    file.write_bytes(data)
    codes: dict[str, int] = {}
    for words in RUNS:
        if codes.get("check") == 1 and words[0] in LIKE_CHECK:
            continue
        argv = (w.replace("FILE", str(file)).replace("OUT", str(out)) for w in words)
        told = run(tuple(argv), wait)
        codes.setdefault(words[0], told.code)
        left = {p.name for p in folder.iterdir()}
        parts = [p.name for p in folder.rglob("*.part")]
        if not told.fault and (not file.is_file() or file.read_bytes() != data):
            told.fault = "the recipe is changed"
            file.write_bytes(data)
        if not told.fault and (left - {"it.weave", "out"} or parts):
            told.fault = f"leaves {sorted(left)} {parts}"
        lost = words[0] == "steps" and told.code != 0 and codes["check"] == 0
        if not told.fault and lost and "no steps" not in told.err:
            told.fault = "checks clean and has no step list"
        yield told


@dataclass
class Tally:
    """What came of many recipes."""

    recipes: Counter[str] = field(default_factory=Counter)
    codes: Counter[tuple[str, int]] = field(default_factory=Counter)
    faults: dict[str, tuple[int, str, tuple[str, ...]]] = field(default_factory=dict)
    slowest: tuple[float, str, tuple[str, ...]] = (0.0, "", ())


def many(seed: int, seconds: float, most: int = 10**9, wait: int = 20) -> Tally:
    """Run recipes from a seed on, until the time is over or so many are done."""
    tally = Tally()
    end = time.perf_counter() + seconds
    for at in range(most):
        if time.perf_counter() > end:
            break
        r = random.Random(seed * 1_000_003 + at)
        maker = r.choice(MAKERS)
        text = maker(r)
        tally.recipes[maker.__name__] += 1
        with tempfile.TemporaryDirectory(prefix="hostile-") as folder:
            for told in every_command(text, Path(folder), wait):
                tally.codes[(told.argv[0], told.code)] += 1
                if told.seconds > tally.slowest[0]:
                    tally.slowest = (told.seconds, text, told.argv)
                if told.fault:
                    key = f"{told.argv[0]}: {told.fault}"
                    times, first, argv = tally.faults.get(key, (0, text, told.argv))
                    shorter = text if len(text) < len(first) else first
                    tally.faults[key] = (times + 1, shorter, argv)
    return tally


def _print(tally: Tally) -> None:
    print(f"{tally.recipes.total()} recipes {dict(tally.recipes)}")
    print(f"{tally.codes.total()} runs; exit codes by command:")
    for (command, code), times in sorted(tally.codes.items()):
        print(f"  {command:8} {code:2}  {times}")
    seconds, text, argv = tally.slowest
    print(f"slowest: {seconds:.1f} s, {argv[0]}, of a recipe of {len(text.splitlines())} lines")
    print(f"{len(tally.faults)} kinds of fault")
    for key, (times, text, argv) in tally.faults.items():
        print(f"\n== {key}  ({times} times)  {' '.join(a for a in argv if '/' not in a)}")
        print(text.encode("unicode_escape").decode().replace("\\n", "\n")[:3000])


if __name__ == "__main__":
    _print(many(int((sys.argv[2:] or ["1"])[0]), float((sys.argv[1:] or ["60"])[0])))
