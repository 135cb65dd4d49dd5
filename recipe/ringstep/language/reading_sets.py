"""Lines of `sizes:`, and sizes that change along the piece, as makers write them.

Comes in: a line that could not be read. Goes out: a `Trouble` whose line was read before it is
offered; None where the line shows nothing of the kind.
"""

from __future__ import annotations

import re

from ringstep.language.findings import Trouble
from ringstep.language.habits import line_reads
from ringstep.language.reading_sizes import habit_of_sizes
from ringstep.language.reworded import MOST_LETTERS
from ringstep.language.source import span_of

_NAME = r"\s*([^\s\d,:=][^\s,:=]*(?:\s+\d+(?=\s+(?:wire|inside|units?|rows?)\b))?)"
_TO = r"\s*(?:to|till|until|through|up\s+to|-|–|—|\.\.+)\s*"
_ALONG = re.compile(
    rf"[,(]?\s*(?:\b(?:for|in|from|on)\s+)?\b(units?|rows?)\s+(\d+)(?:{_TO}(\d+))?\s*\)?", re.I
)
#: 'A 1 to 8 wire …', where nothing says what is counted.
_BARE = re.compile(rf"{_NAME}\s+(\d+){_TO}(\d+)(?=\s+(?:wire|inside)\b)", re.I)


def explain_along(text: str, line: int) -> Trouble | None:
    """Say how the stretch of a piece is named in which a ring has its sizes."""
    told = along_lines(text) if len(text) <= MOST_LETTERS else None
    if told is None:
        return None
    message = "where sizes hold is said behind the name of the ring"
    if len(told) > 1:
        return Trouble(span_of(text, line), message, ("write a line for each:", *told))
    return Trouble(span_of(text, line), message, (f"write '{told[0]}'",))


def along_lines(text: str) -> tuple[str, ...] | None:
    """The lines that a ring of sizes along the piece takes; None where none of them can be read.

    >>> along_lines("A wire 1 mm, inside 4 mm units 1-8, inside 5 mm units 9-16, tin")
    ('A units 1 to 8  wire 1 mm, inside 4 mm, tin', 'A units 9 to 16  wire 1 mm, inside 5 mm, tin')
    """
    if bare := _BARE.match(text):
        text = f"{bare[1]} units {bare[2]} to {bare[3]} {text[bare.end() :]}"
    name = re.match(_NAME, text)
    stretches = list(_ALONG.finditer(text, name.end(1))) if name else []
    if name is None or not stretches:
        return None
    if not text[name.end() : stretches[0].start()].strip():  # it stands where it should
        parts, tail = [text[stretches[0].end() :]], ""
        stretches = stretches[:1]
    else:
        ends = [name.end(), *(s.end() for s in stretches)]
        parts = [text[end : s.start()].strip(" ,") for end, s in zip(ends, stretches, strict=False)]
        tail = text[ends[-1] :].strip(" ,")
    lines = []
    for part, s in zip(parts, stretches, strict=True):
        sized = _with_wire(parts[0], part.strip(" ,"))
        word = s[1].casefold().rstrip("s")
        along = f"{word}s {s[2]} to {s[3]}" if s[3] else f"{word} {s[2]}"
        lines.append(f"{name[1]} {along}  {sized}{f', {tail}' if tail else ''}")
    if not all(line_reads(each, "ring_kind") for each in lines):
        return None
    return tuple(lines)


def _with_wire(first: str, part: str) -> str:
    """A later stretch with the size that only the first one says."""
    if re.fullmatch(r"\d[\d./]*\s*[a-z]+", part, re.I):
        part = f"inside {part}"
    given = [re.search(rf"\b{w}\s+[^,]+", first, re.I) for w in ("wire", "inside")]
    lacks = [g[0].strip() for g in given if g and g[0].split()[0].casefold() not in part.casefold()]
    return ", ".join([*lacks, part])


def explain_set_line(text: str, line: int) -> Trouble | None:
    """Say how a set of sizes is written: its name, the ring, the sizes."""
    if len(text) > MOST_LETTERS:
        return None
    words = text.split()
    first, rest = words[0].rstrip(":,="), " ".join(words[1:]).lstrip(":= ")
    if not first or not rest:
        return Trouble(
            span_of(text, line),
            "a line of 'sizes:' names a set, a ring and its sizes",
            ("write it like: small  all  wire 0.8 mm, inside 4.3 mm",),
        )
    if not re.match(r"[^\W\d]", first):
        message = f"a set of sizes has a name, and '{first}' is none"
        whole = f"small  {rest}"
        mend = f"write '{whole}'" if line_reads(whole, "set_line") else "begin it with a letter"
        return Trouble(span_of(text, line), message, (mend,))
    whole = f"{first}  {rest}"
    if whole.split() != words and line_reads(whole, "set_line"):
        message = f"the name of the set stands alone, and '{words[0]}' has a mark behind it"
        return Trouble(span_of(text, line), message, (f"write '{whole}'",))
    sizes_first = bool(re.match(r"wire\b|inside\b|[\d.]", rest, re.I))
    lead = "all  " if sizes_first else ""
    if sizes_first and first.casefold() == "all":
        message = "this line does not say of which set it is"
        return Trouble(span_of(text, line), message, (f"write 'small  {first} {rest}'",))
    if sizes_first and line_reads(f"{first}  {lead}{rest}", "set_line"):
        message = f"nothing says of which ring '{first}' has the sizes"
        return Trouble(span_of(text, line), message, (f"write '{first}  {lead}{rest}'",))
    if line_reads(lead + rest, "ring_kind"):
        sized = [x for x in rest.split(",") if re.search(r"\b(?:wire|inside)\s", x, re.I)]
        odd = next((x.strip() for x in rest.split(",") if x not in sized), None)
        if odd is None:
            return None  # one of its sizes is missing, which is told of the ring
        message = f"a line of 'sizes:' says sizes only, and this one says '{odd}'"
        plain = f"{first}  {lead}{','.join(sized)}"
        mend = f"write '{plain}', and the rest" if line_reads(plain, "set_line") else "say it"
        return Trouble(span_of(text, line), message, (f"{mend} under 'rings:'",))
    if told := along_lines(lead + rest):
        lines = [f"{first}  {each}" for each in told]
        message = "where sizes hold is said behind the name of the ring"
        return Trouble(span_of(text, line), message, ("write:", *lines))
    if habit := habit_of_sizes(lead + rest):
        help = tuple(
            re.sub(r"((?:^|\s)(?:write|or) ')", rf"\1{first}  ", h, count=1)
            for h in habit.help.split("\n")
        )
        return Trouble(span_of(text, line), habit.message, help)
    return None
