"""Other forms of a right recipe that are right as well: written out, of another length, clasped.

All at the level of text, line by line, as an author would do it.
"""

from __future__ import annotations

import re

_HEADING = re.compile(r"(\w[\w ]*):\s*(#.*)?\Z")
_SIZE = re.compile(r"( +(?:chain|loop) )(\d+ units?|\d+(?:\.\d+)? (?:mm|cm|in))\Z")
_ROWS = re.compile(r"( +(?:sheet|tube) )(\d+) rows? of (\d+) units?\Z")


def sections(text: str) -> list[tuple[str, list[str]]]:
    """The headings of a recipe, '' before the first, each with its lines."""
    found: list[tuple[str, list[str]]] = [("", [])]
    for line in text.splitlines():
        heading = _HEADING.match(line)
        if heading:
            found.append((heading[1], []))
        else:
            found[-1][1].append(line)
    return found


def joined_up(parts: list[tuple[str, list[str]]]) -> str:
    """Sections as a text."""
    return "".join(
        "".join(f"{line}\n" for line in ([f"{heading}:"] if heading else []) + lines)
        for heading, lines in parts
    )


def promised_in(line: str) -> list[int]:
    """How many rings a line of promises lets a ring meet: one number for each alternative."""
    told = line.partition(" meets ")[2].partition("#")[0]
    return [sum(map(int, re.findall(r"\b\d+\b", one))) for one in told.split(" or ")]


def plural(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def units_of(text: str) -> int | None:
    """How many units a chain or loop has by its text; None for others and for a length."""
    found = re.search(r"^ +(?:chain|loop) (\d+) units?$", text, re.M)
    return int(found[1]) if found else None


def rows_of(text: str) -> tuple[int, int] | None:
    """Rows and units of a sheet or tube."""
    found = next((m for line in text.splitlines() if (m := _ROWS.match(line))), None)
    return (int(found[2]), int(found[3])) if found else None


def resized(text: str, units: int, rows: int | None = None) -> str:
    """The same piece with so many units, and for a sheet or tube so many rows."""
    lines = []
    for line in text.splitlines():
        if found := _SIZE.match(line):
            line = found[1] + plural(units, "unit")
        elif (found := _ROWS.match(line)) and rows is not None:
            line = f"{found[1]}{plural(rows, 'row')} of {plural(units, 'unit')}"
        lines.append(line)
    return "\n".join(lines) + "\n"


def written_out(text: str, units: int) -> str | None:
    """The units of a chain or loop one by one; None where it has no unit, or some by number.

    None where it is worked in runs or strands, whose borders a list by number does not have, and
    where there is no start: then what unit 1 goes through 'if there' is never there.
    """
    parts = sections(text)
    runs = re.search(r"^ +(?:(?:chain|loop) .*\bof|strands) ", text, re.M)
    if runs or not any(heading == "start" for heading, _ in parts):
        return None
    named = {heading[5:]: lines for heading, lines in parts if heading.startswith("unit ")}
    only = next((lines for heading, lines in parts if heading == "unit"), None)
    if (only is None) == (not named) or any(name.isdigit() for name in named):
        return None
    order = next((m[1].split(", ") for m in [re.search(r"^ +order (.*)$", text, re.M)] if m), [])
    turns = order or [*named]
    kept, at = [], 0
    for heading, lines in parts:
        if heading == "unit" or heading.startswith("unit "):
            at = at or len(kept)
        else:
            kept.append((heading, [x for x in lines if not x.strip().startswith("order ")]))
    bodies = [only if only is not None else named[turns[n % len(turns)]] for n in range(units)]
    kept[at:at] = [(f"unit {n}", body) for n, body in enumerate(bodies, 1)]
    return resized(joined_up(kept), units)


def caught(text: str) -> str | None:
    """A chain begun through a catch: the closed rings of the start are opened and go through it.

    None where the start does not begin with closed rings that the units place too.
    """
    parts = sections(text)
    start = next((lines for heading, lines in parts if heading == "start"), None)
    closed = re.match(r"( +)close (.*)", start[0]) if start else None
    if start is None or closed is None or not re.search(r"^ +chain ", text, re.M):
        return None
    role = re.match(r"(?:\d+ )?([^\W\d]+)", closed[2])
    units = "\n".join(x for heading, lines in parts if heading.startswith("unit") for x in lines)
    if role is None or not re.search(rf" (?:add|close) (?:\d+ )?{role[1]}\b", units):
        return None
    start[0] = f"{closed[1]}add {closed[2]} through catch picks 1"
    return joined_up(_with_part(parts))


def clasped(text: str) -> str | None:
    """A chain with a catch at its last rings, hung there by a ring of its own.

    None for what is no chain of repeating units, where the chain has a finish already, and where
    each set of sizes would need the new ring.
    """
    parts = sections(text)
    body = next((lines for heading, lines in parts if heading == "unit"), None)
    ends = any(heading == "finish" for heading, _ in parts)
    ends |= any(heading == "sizes" for heading, _ in parts)
    if body is None or ends or not re.search(r"^ +chain ", text, re.M):
        return None
    role = next(m[1] for x in body if (m := re.search(r"through.*?\bprev ([^\W\d]+)", x)))
    many = sum(int(m[1] or 1) for x in body
               if (m := re.match(rf" +(?:add|close) (?:(\d+) )?{role} ?\d*\b", x)))  # fmt: skip
    parts.append(("finish", [f"  add link through last {role}, catch picks {many + 1}"]))
    rings = next(lines for heading, lines in parts if heading == "rings")
    rings.append("  link  wire 1 mm, inside 20 mm, brass")
    return joined_up(_with_part(parts))


def _with_part(parts: list[tuple[str, list[str]]]) -> list[tuple[str, list[str]]]:
    """The sections with a catch among the parts."""
    if not any(heading == "parts" for heading, _ in parts):
        at = next(n for n, (heading, _) in enumerate(parts) if heading == "rings")
        parts = [*parts[: at + 1], ("parts", []), *parts[at + 1 :]]
    next(lines for heading, lines in parts if heading == "parts").append("  catch  brass, hook")
    return parts
