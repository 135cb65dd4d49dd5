"""Lines whose words only stand in another order, or go on past their end, and the line to type.

Comes in: a line that could not be read and what kind it should have been. Goes out: a `Habit` whose
line was read by the grammar before it is offered; None where no such line is found.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import partial

from ringstep.language.habits import Habit, line_reads
from ringstep.language.reworded_strands import in_strands, of_strand
from ringstep.language.words import NUMBER_WORDS, OPTIONS, RESERVED, UNITS_OF_SIZE, listed, nearest

#: A longer line is no slip of one who writes; it would only take long to look through.
MOST_LETTERS = 400
_Found = re.Match[str]
_SIDE = re.compile(r"\s*\b(?:in\s+)?(?:from|to|towards?|at|on)\s+(?:the\s+)?(front|back)\b", re.I)
_WORK = r"(?:the\s+)?(?:work|piece|chain|strip|sheet|whole|it)"
#: (pattern, message, the step to type) of steps whose verb is parted by what it is done to.
_PARTED: tuple[tuple[re.Pattern[str], str, Callable[[_Found], str]], ...] = (
    (
        re.compile(r"\s*fold\s+(?:the\s+|both\s+)?(\S.*?)\s+back(?:wards?)?\s*", re.I),
        "'fold' and 'back' stand apart",
        lambda m: f"fold back {m[1]}",
    ),
    (
        re.compile(rf"\s*turn\s+{_WORK}\s+(?:over|round|around)\s*", re.I),
        "'turn over' needs nothing between its words",
        lambda _: "turn over",
    ),
    (
        re.compile(r"\s*turn\s+(\S.*?)\s+over\s*", re.I),
        "'turn' and 'over' stand apart",
        lambda m: f"turn over {m[1]}",
    ),
    (
        re.compile(r"\s*take\s+(?:the\s+|both\s+)?(\S.*?)\s+out\s*", re.I),
        "'take' and 'out' stand apart",
        lambda m: f"take out {m[1]}",
    ),
)
#: A piece that does not say what it is: a count or a length, with more words behind it.
_EXTENT = re.compile(
    rf"\s*(?:of\s+)?(\d[\d./]*\s*(?:units?|{'|'.join(UNITS_OF_SIZE)})\b)(?=\s)", re.I
)
#: A chain with its extent and what follows; a run of it; what parts two runs.
_LONG = rf"\d[\d./]*\s*(?:units?|{'|'.join(UNITS_OF_SIZE)})\b"
_SIZED = rf"of\s+(?=\d[\d./]*\s*(?:{'|'.join(UNITS_OF_SIZE)})\b)"
_CHAIN = re.compile(rf"\s*(chain|loop)\s+(?:{_SIZED})?({_LONG})?\s*(?:of\s+)?(.+)", re.I)
_RUN = re.compile(
    r"\s*(?:(?P<n>\S+)\s*(?:x|×|times|units?\s+of|units?|of)?\s+)?(?P<name>[^\W\d]\S*?)"
    r"(?:\s+units?|\s*[x×*]\s*(?P<times>\d+))?\s*",
    re.I,
)
_BETWEEN = re.compile(r"\s*(?:[,;+&]|\band\b|\bthen\b)\s*(?:then\s+)?", re.I)
#: A chain of which only the number or the length is said, whatever stands before and behind it.
_ALONE = re.compile(
    r"\s*(chain|loop)(?:\s+of)?(?:\s+(\d[\d./]*|[^\W\d]+))??(?:\s*\b([^\W\d]+))?\s*", re.I
)
_NO_NAMES = RESERVED | {*UNITS_OF_SIZE}
#: A sheet by its two numbers, however they are parted.
_GRID = re.compile(
    r"\s*(sheet|tube)\s+(?:of\s+)?(\d+)\s*(?:rows?)?\s*(?:x|×|\*|by|of|,|and|with)\s*(\d+)"
    r"(?:\s*(?:units?|rings?)(?:\s+(?:each|a\s+row))?)?\s*",
    re.I,
)
#: What makers count that are no units.
_COUNTED = frozenset({"", "ring", "rings", "link", "links", "times", "unit", "units"})


def reworded(text: str, rule: str, heading: str = "") -> Habit | None:
    """What stands in the wrong place of a line, and the whole line as it can be read."""
    if len(text) > MOST_LETTERS:
        return None
    if rule == "step":
        return (
            _parted(text)
            or _sided(text)
            or one_another(text)
            or _all_of(text, heading)
            or of_strand(text, line_reads)
        )
    if rule != "piece_line":
        return None
    strands = partial(in_strands, reads=line_reads)
    asked = (_grid, extent_alone, strands, _unmeasured, _in_runs, _bare_runs, _too_long)
    return next((found for ask in asked if (found := ask(text))), None)


def _parted(text: str) -> Habit | None:
    for pattern, message, line in _PARTED:
        if (found := pattern.fullmatch(text)) and line_reads(line(found), "step"):
            return Habit.of_line(text, message, f"write '{line(found)}'")
    return None


def _sided(text: str) -> Habit | None:
    """'from the front' in a step, which is said with 'lay'."""
    found = _SIDE.search(text)
    if found is None:
        return None
    rest = " ".join(f"{text[: found.start()]} {text[found.end() :]}".split())
    words = rest.casefold().split()
    line = rest if "lay" in words else f"{rest} lay {found[1].casefold()}"
    if words[:1] not in (["add"], ["reopen"]) or not line_reads(line, "step"):
        return None
    said = found[0].strip()
    start = found.start() + len(found[0]) - len(found[0].lstrip())
    return Habit(start, found.end(), f"'{said}' is said with 'lay'", f"write '{line}'")


#: The rings of the step itself as they are spoken of elsewhere, without blanks and strokes.
_ONE_ANOTHER = ("oneanother", "eachother")
_AMONG_THEM = re.compile(
    r"themselves|(?:all)?(?:the)?others|allofthem|(?:all|those|the|every|each)\S*before(?:it|them)?"
)
_OPTION = "|".join(sorted({o.split()[0] for o in OPTIONS} - {"one"}))
_ITEM = re.compile(
    rf"(?:\b(?:through|then)\s+|,\s*)([^\s,](?:(?!\b(?:{_OPTION}|then)\b)[^,])*?)"
    rf"(?=\s*(?:,|\b(?:{_OPTION}|then)\b|$))",
    re.I,
)


def one_another(text: str) -> Habit | None:
    """'one another' with a slip, or as others say it, where a step places several rings."""
    many = re.match(r"\s*add\s+0*(?!1\s)[1-9]\d*\s", text, re.I)
    if not many or len(text) > MOST_LETTERS:
        return None
    if bare := re.fullmatch(r"(\s*add\s+\d+\s+\S+)\s+(one\s+another)(\s.*)?", text, re.I):
        line = f"{bare[1].strip()} through one another{(bare[3] or '').rstrip()}"
        if line_reads(line, "step"):
            what = "there is no 'through' before 'one another'"
            return Habit(bare.start(2), bare.end(2), what, f"write '{line}'")
    for item in _ITEM.finditer(text, text.casefold().find("through") if "through" in text else 0):
        said = re.sub(r"[\s\-‐–]+", "", item[1]).casefold()
        if " ".join(item[1].casefold().split()) == "one another":
            continue
        if said in _ONE_ANOTHER or _AMONG_THEM.fullmatch(said) or nearest(said, _ONE_ANOTHER):
            line = f"{text[: item.start(1)].lstrip()}one another{text[item.end(1) :].rstrip()}"
            once = line.casefold().count("one another") == 1
            if once and line_reads(line, "step"):
                what = f"'{item[1]}' is said with 'one another'"
                return Habit(item.start(1), item.end(1), what, f"write '{line}'")
    return None


_ALL_OF = re.compile(
    r"(?<=\s)(?:all|each|every\s+single)(?:\s+of)?(?:\s+the)?\s+((?!others?\b)[^\W\d][^\s,]*)", re.I
)


def _all_of(text: str, heading: str) -> Habit | None:
    """'all A' and 'each A' in a list, which a name says alone, or 'every' does at the end."""
    found = _ALL_OF.search(text)
    every = heading in ("finish", "row end")
    line = ""
    if found and re.search(r"\bthrough\s", text[: found.start()], re.I):
        line = f"{text[: found.start()].lstrip()}{'every ' if every else ''}{found[1]}"
        line += text[found.end() :].rstrip()
    if found is None or not line or not line_reads(line, "step"):
        return None
    name, whole = found[1], "row" if heading == "row end" else "piece"
    why = f"'every {name}' is all of the {whole}" if every else f"'{name}' is all of the unit"
    what = f"'{found[0]}' is said otherwise: {why}"
    return Habit(found.start(), found.end(), what, f"write '{line}'")


def extent_alone(text: str) -> Habit | None:
    """A chain said by a number alone, as 'chain of 5', 'chain 5', 'chain 5 rings', 'chain of 19 cm'
    are; None where it says more than that."""
    found = _ALONE.fullmatch(text) if len(text) <= MOST_LETTERS else None
    if found is None or (found[3] or "").casefold() not in {*_COUNTED, *UNITS_OF_SIZE}:
        return None
    number = _figures(found[2] or "")
    if not found[2]:
        help = f"write how long it is: '{found[1]} 24 units' or '{found[1]} 190 mm'"
        return Habit.of_line(text, f"nothing says how long the {found[1].casefold()} is", help)
    sized = (found[3] or "").casefold() in UNITS_OF_SIZE
    line = f"{found[1]} {number} {found[3] if sized else 'unit' if number == '1' else 'units'}"
    if not line_reads(line, "piece_line"):
        return None
    message = f"'{text.strip()}' does not say what is counted"
    if number != found[2]:
        message = f"the number '{found[2]}' is written out"
    elif found[3] and (found[3].casefold() in _COUNTED - {"unit", "units"}):
        message = f"a {found[1].casefold()} is counted in units, not in {found[3]}"
    elif found[3]:
        message = "'of' stands before names of units, as in 'chain of 12 plain, 1 star, 12 plain'"
    return Habit.of_line(text, message, f"write '{line}'")


def _grid(text: str) -> Habit | None:
    """A sheet or tube whose rows and units are told in other words."""
    found = _GRID.fullmatch(text)
    line = f"{found[1]} {found[2]} rows of {found[3]} units" if found else ""
    if not found or not line_reads(line, "piece_line"):
        return None
    what = f"a {found[1].casefold()} is so many rows of units"
    return Habit.of_line(text, what, f"write '{line}'")


def of_no_name(text: str, plain: bool) -> tuple[Habit, str] | None:
    """A chain 'of' something that is no named unit, and the line that is meant, "" if unknown.

    plain: True where the recipe has but one unit without a name.
    """
    if len(text) > MOST_LETTERS:
        return None
    if habit := extent_alone(text):
        line = habit.help.removeprefix("write '").removesuffix("'")
        return habit, line if line_reads(line, "piece_line") else ""
    found = re.fullmatch(rf"(chain|loop)(?:\s+({_LONG}))?\s+of\s+(?:(\d+)\s+)?(\S+)", text, re.I)
    if not plain or found is None or not (found[2] or found[3]):
        return None
    line = f"{found[1]} {found[2] or (found[3] + (' unit' if found[3] == '1' else ' units'))}"
    message = f"no unit of this recipe is called '{found[4]}'"
    help = f"write '{line}',\nor give the heading 'unit:' that name: 'unit {found[4]}:'"
    return Habit(0, len(text), message, help), line


def _figures(number: str) -> str:
    """A number that is written out, in figures; any other word as it is."""
    low = number.casefold()
    return str(NUMBER_WORDS.index(low)) if low in NUMBER_WORDS[1:] else number


def _runs_of(text: str, bare: bool) -> list[str] | None:
    """Every run of a list as the language has it; None where one is none.

    bare: True where blanks alone may part them.
    """
    parts = _BETWEEN.split(text)
    if len(parts) == 1 and bare:  # neither commas nor 'and': each name ends a run
        parts = re.findall(r"(?:\d+\s+)?[^\W\d]\S*", text)
        if "".join(parts).replace(" ", "") != "".join(text.split()):
            return None
    found = []
    for part in parts:
        run = _RUN.fullmatch(part)
        number = _figures((run["n"] or run["times"] or "1") if run else "")
        if run is None or not number.isdecimal() or (run["n"] and run["times"]):
            return None
        if _figures(run["name"]) != run["name"] or run["name"].casefold() in _NO_NAMES:
            return None
        found.append(f"{number} {run['name']}" if run["n"] or run["times"] else run["name"])
    return found if len(found) > 1 else None


_UNMEASURED = re.compile(r"\s*(chain|loop)\s+(\d[\d./]*)\s+of\s+(.+?)\s*", re.I)


def _unmeasured(text: str) -> Habit | None:
    """A length without its unit of size before runs that share it: 'chain 180 of byz, sun, byz'."""
    found = _UNMEASURED.fullmatch(text)
    names = _runs_of(found[3], bare=False) if found else None
    if found is None or names is None or any(" " in name for name in names):
        return None
    sharing = [name for name in names if names.count(name) > 1]
    extents = [f"{found[2]} mm"] if sharing else []
    if sharing and found[2].isdecimal():
        left = int(found[2]) - len(names) + len(sharing)
        extents += [f"{found[2]} units"] if left > 0 and not left % len(sharing) else []
    lines = [f"{found[1]} {extent} of {', '.join(names)}" for extent in extents]
    if names[0] not in sharing:
        lines.append(f"{found[1]} of {found[2]} {', '.join(names)}")
    lines = [line for line in lines if line_reads(line, "piece_line")]
    if not sharing or not lines:
        return None
    each = [f"'{line}'" for line in lines]
    what = f"'{found[2]}' does not say what it counts, millimetres or units"
    return Habit.of_line(text, what, f"write {listed(each, 'or')}")


def _in_runs(text: str) -> Habit | None:
    """A chain of several runs that lacks its 'of' or its commas, or counts in other words."""
    found = _CHAIN.fullmatch(text)
    if found is None:
        return None
    extent, rest = found[2], found[3]
    if extent is None and (behind := re.fullmatch(rf"(.*\S)\s+({_LONG})\s*", rest, re.I)):
        rest, extent = behind[1], behind[2]  # 'chain of byz, sun, byz 190 mm'
    runs = _runs_of(rest, bare=bool(re.match(r"\s*(?:chain|loop)\b.*?\sof\s", text, re.I)))
    if runs is None:
        return None
    line = " ".join([found[1], *([extent.strip()] if extent else []), "of", ", ".join(runs)])
    if not line_reads(line, "piece_line"):
        return None
    what = "what a piece is worked of is written as a list behind 'of'"
    return Habit.of_line(text, what, f"write '{line}'")


def _bare_runs(text: str) -> Habit | None:
    """A list of runs that does not say what they make."""
    runs = _runs_of(text, bare=False) if text.split()[0].isdecimal() else None
    line = f"chain of {', '.join(runs)}" if runs else ""
    if not runs or not line_reads(line, "piece_line"):
        return None
    what = f"nothing says what the '{text.strip()}' make"
    return Habit.of_line(text, what, f"write '{line}'")


def _too_long(text: str) -> Habit | None:
    """A line of 'piece:' that is whole before its last words, such as 'with a clasp'."""
    of_runs = re.match(r"\s*(?:chain|loop)\b.*\bof\b", text, re.I)
    if of_runs and not re.search(r"\bwith\b", text, re.I):
        return None  # what is left out might be a run
    bare = _EXTENT.match(text)
    ends = [m.end() for m in re.finditer(r"\S+", text)]
    if bare:
        ends = [bare.end()]
    for end in reversed(ends[:-1] if not bare else ends):
        line = " ".join(text[:end].split())
        line = f"chain {line}" if bare else line
        if not line_reads(line, "piece_line"):
            continue
        rest = text[end:].strip(" \t,")
        help = f"write '{line}'"
        if re.search(r"\b(?:clasp|toggle|hook|fastener|bead|charm|pendant)s?\b", rest, re.I):
            help += (
                "\nname it under 'parts:' and put it on by a step of 'start:' or 'finish:';"
                " 'ringstep kit --clasp' takes its length off"
            )
        start = text.index(rest, end)
        return Habit(start, start + len(rest), f"'{rest}' does not fit here", help)
    return None
