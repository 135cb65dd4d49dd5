"""Rings and places in a maker's words, for messages and for step lists alike."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from ringstep.language.promised import ByPlace, ByRole, InAll, Wanted
from ringstep.language.source import Source, Span
from ringstep.language.syntax import Ref, Step
from ringstep.language.words import NUMBER_WORDS, PLACES, listed, plural
from ringstep.weave.layout import Layout
from ringstep.weave.promises import Near, near_of
from ringstep.weave.work import Act, Ring

#: The words of place that lists and promises use; any other is the name of a strand.
PLACE_WORDS = frozenset({*PLACES, "below", "new"})


def number_word(count: int) -> str:
    """A small number as a word, a larger one in figures.

    >>> number_word(2), number_word(12)
    ('two', '12')
    """
    return NUMBER_WORDS[count] if 0 <= count < len(NUMBER_WORDS) else str(count)


def ordinal_word(number: int) -> str:
    """The place in a row as a word, a later one in figures.

    >>> ordinal_word(2), ordinal_word(11)
    ('second', '11th')
    """
    words = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")
    if 1 <= number <= len(words):
        return words[number - 1]
    small = {1: "st", 2: "nd", 3: "rd"} if number % 100 not in (11, 12, 13) else {}
    return f"{number}{small.get(number % 10, 'th')}"


def place_phrase(places: tuple[str, ...], here: str = "", units: bool = False) -> str:
    """Where a list item looks, as one says it; units: where the first place is surely a unit.

    >>> place_phrase(("prev",)), place_phrase(("above", "next")), place_phrase(("last", "prev"))
    ('of the unit before', 'of the next unit in the row above', 'of the unit before the last')
    >>> place_phrase(("prev", "prev")), place_phrase(("first", "next")), place_phrase(())
    ('of the unit two before', 'one unit after the beginning', '')
    >>> place_phrase(("above", "prev", "next")), place_phrase(("above", "next", "prev"))
    ('of the first of its places above', 'of the last of its places above')
    >>> place_phrase(("first", "next"), units=True)
    'of the second unit'
    >>> place_phrase(("last", "left"))
    'of the last unit of strand left'
    """
    strand = next((p for p in places if p not in PLACE_WORDS), "")
    if strand:
        rest = tuple(p for p in places if p != strand)
        return f"{place_phrase(rest, here, units=True)} of strand {strand}"
    rows = places.count("above")
    along = [p for p in places if p != "above"]
    end = next((p for p in along if p in ("first", "last")), None)
    steps = along.count("next") - along.count("prev")
    far = number_word(abs(steps))
    if end == "first" and not rows and not units:
        # The start, where there is one, is the first place of a piece; so no unit is named here.
        units_on = f"{far} unit{'' if abs(steps) == 1 else 's'}"
        return f"{units_on} after the beginning" if steps else "at the beginning"
    if rows == 1 and len(along) > 1 and len(set(along)) == 2 and end is None:
        return f"of the {_of_shared(along)} above"
    if end is None and not steps:
        high = f"row {number_word(rows)} above" if rows > 1 else "row above"
        return f"of the {high}" if rows else here
    if end == "first":
        unit = f"{ordinal_word(steps + 1)} unit"
    elif end == "last" and steps == 0:
        unit = "last unit"
    elif end == "last":
        unit = f"unit {'' if steps == -1 else f'{far} '}before the last"
    elif abs(steps) == 1:
        unit = "next unit" if steps > 0 else "unit before"
    else:
        unit = f"unit {far} {'before' if steps < 0 else 'on' if rows else 'after'}"
    row = "" if not rows else "in the row above" if rows == 1 else f"{number_word(rows)} rows above"
    return f"of the {unit} {row}".strip()


def _of_shared(along: list[str]) -> str:
    """Which of the places above that share one is meant, by words that go out of it and back in.

    >>> _of_shared(["prev", "next"]), _of_shared(["next", "prev"])
    ('first of its places', 'last of its places')
    """
    back = along.count("prev" if along[0] == "next" else "next") - 1
    if along[0] == "prev":
        return f"{ordinal_word(back + 1)} of its places"
    return f"{'last' if not back else f'{ordinal_word(back + 1)} last'} of its places"


def seen_phrase(rows: int, units: int) -> str:
    """Where a ring stands, so many rows above and units before the one at hand.

    >>> seen_phrase(0, 1), seen_phrase(1, 0), seen_phrase(1, -1)
    ('of the unit before', 'of the row above', 'of the next unit in the row above')
    """
    along = ("prev",) * units if units > 0 else ("next",) * -units
    return place_phrase(("above",) * rows + along)


def stands_phrase(layout: Layout, place: tuple[int, int], ring: Ring) -> str:
    """Where a ring stands as seen from a place: 'of the unit before'; where it stands farther off
    than any step reaches, 'of the start' or by the number of its unit."""
    row, unit = place
    on = layout.apart(unit, ring.unit)
    if layout.rounds:
        on = layout.round_on(place, (ring.row, ring.unit))
    if layout.flat or abs(on) <= layout.reach:
        return seen_phrase(row - ring.row, -on)
    if ring.unit == 0:
        return "of the start"
    return f"of {layout.unit_name(ring.unit)}" if ring.unit <= layout.units else "of the finish"


def piece_phrase(ref: Ref) -> str:
    """Where an item of a joining step looks: 'of panel 1', 'along the last row of panel 1'."""
    assert ref.of is not None
    by = ref.places.count("next") - ref.places.count("prev")
    piece = f"of the {ref.of}" if ref.of.number is None else f"of {ref.of}"
    if edge := ref.of.edge:
        there = "along the units" if edge == "every unit" else f"along the {edge}"
        back = " from its end on" if ref.of.backwards else ""
        on = f"{number_word(abs(by))} place{'s' * (abs(by) > 1)} {'on' if by > 0 else 'back'} "
        return f"{on * bool(by)}{there} {piece}{back}"
    row = next((f"of the {word} " for word in ref.places if word.endswith(" row")), "")
    return f"{row}{piece}"


def piece_named(ref: Ref) -> str:
    """Which ring of a piece made first an item means: 'A', 'the last A', 'the A before the
    last'."""
    by = ref.places.count("next") - ref.places.count("prev")
    if "first" in ref.places:
        return f"the {ordinal_word(1 + by)} {ref.name}"
    if "last" in ref.places:
        before = "" if by == -1 else f"{number_word(-by)} "
        return f"the {ref.name} {before}before the last" if by else f"the last {ref.name}"
    return str(ref.name)


def ref_phrase(ref: Ref, rings: int | None = None) -> str:
    """A list item as one says it: 'M1', 'both S of the unit before'."""
    name = f"every {ref.name}" if ref.every else str(ref.name)
    if ref.of:
        return f"{piece_named(ref)} {piece_phrase(ref)}"
    if rings is not None and ref.name.index is None and rings > 1:
        name = f"{'both' if rings == 2 else f'all {number_word(rings)}'} {ref.name.role}"
    return f"{name} {place_phrase(ref.places)}".strip()


def meets_phrase(
    found: dict[str, int] | tuple[tuple[str, int], ...], order: Iterable[str] = ()
) -> str:
    """Neighbours by role: '1 M and 6 S'; the roles of `order` go first, in that order.

    >>> meets_phrase({"M": 1, "S": 6}), meets_phrase({})
    ('1 M and 6 S', 'nothing')
    >>> meets_phrase({"M": 1, "S": 6}, ("S", "M"))
    '6 S and 1 M'
    """
    counts = dict(found)
    roles = dict.fromkeys((*order, *counts))
    return listed([f"{counts[r]} {r}" for r in roles if counts.get(r)]) or "nothing"


def places_phrase(places: Mapping[Near, int]) -> str:
    """Neighbours by place: '2 S and 2 S of the unit before'.

    >>> places_phrase({("S", 0, 0): 2, ("S", 0, -1): 2}), places_phrase({("A", 1, 1): 1})
    ('2 S and 2 S of the unit before', '1 A of the next unit in the row below')
    """
    told = []
    for (role, down, on), count in places.items():
        words = ("above",) * abs(down) + ("next" if on > 0 else "prev",) * abs(on)
        where = place_phrase(words).replace("above", "below" if down > 0 else "above")
        told.append(f"{count} {role} {where}".strip())
    return listed(told) or "nothing"


def wanted_phrase(wanted: Wanted) -> str:
    """One choice of a promise as one says it: '4', '1 M and 6 S', '2 S of the unit before'."""
    match wanted:
        case InAll(count):
            return str(count)
        case ByRole(counts):
            return listed([f"{c.count} {c.role}" for c in counts])
        case ByPlace(counts):
            return places_phrase({near_of(c): c.count for c in counts})


def promise_line(name: str, meets: Mapping[str, int], by_role: bool) -> str:
    """A promise as it is typed: 'M meets 6', or by role 'M meets 1 M, 6 S'."""
    each = [f"{n} {role}" for role, n in meets.items() if n]
    return f"{name} meets {', '.join(each) if by_role else sum(meets.values())}"


def rings_phrase(rings: Iterable[tuple[str, str]]) -> str:
    """Rings by name and place: those of one place together, each place set off by a comma.

    >>> rings_phrase([("B", "of the unit before"), ("A", ""), ("A", "of the unit before")])
    'B and A of the unit before, and A'
    >>> rings_phrase([("S1", "of the unit before"), ("S2", "of the unit before")])
    'S1 and S2 of the unit before'
    """
    places: dict[str, list[str]] = {}
    for name, place in rings:
        places.setdefault(place, []).append(name)
    words = [f"{listed(names)} {place}".strip() for place, names in places.items()]
    if len(words) == 2 and " and " not in words[0]:
        return listed(words)
    return f"{', '.join(words[:-1])}, and {words[-1]}" if len(words) > 1 else "".join(words)


def new_words(step: Step) -> list[str]:
    """The rings a step places, each item as it is typed: 'A1', '2 S'."""
    return [str(i.name) if i.count is None else f"{i.count} {i.name}" for i in step.new]


def new_phrase(step: Step) -> str:
    """The rings a step places, as one says it: 'A1 and A2', '2 S'."""
    return listed(new_words(step))


def places_one(step: Step) -> bool:
    """True where a step places a single ring, so that the sentence takes 'it'."""
    return sum(1 if i.count is None else i.count for i in step.new) == 1


def word_span(source: Source, line: Span, word: str) -> Span:
    """Where a word stands in a stretch of a line, the last time; all of it where it does not."""
    text = source.plain[line.line - 1][: line.end - 1]
    found = [
        m.start()
        for m in re.finditer(rf"(?<![^\s,]){re.escape(word)}(?![^\s,])", text)
        if m.start() >= line.column - 1
    ]
    return Span(line.line, found[-1] + 1, found[-1] + 1 + len(word)) if found else line


def list_span(step: Step) -> Span:
    """The list after `through`, or the whole step where there is none."""
    if not step.through:
        return step.span
    return step.through[0].span.to(step.through[-1].span)


def rings_word(count: int) -> str:
    """'1 ring', '3 rings'."""
    return plural(count, "ring")


def count_words(counts: Iterable[int]) -> str:
    """One number of rings, or the numbers there are.

    >>> count_words([4, 4]), count_words([3, 5]), count_words([2, 4, 3])
    ('4 rings', '3 or 5 rings', 'between 2 and 4 rings')
    """
    each = sorted(set(counts))
    if len(each) == 1:
        return plural(each[0], "ring")
    if len(each) == 2:
        return f"{each[0]} or {plural(each[1], 'ring')}"
    return f"between {each[0]} and {plural(each[-1], 'ring')}"


def end_phrase(layout: Layout, ref: Ref, ring: Ring, act: Act) -> str:
    """The place of a ring as said at the ends of a piece or row: 'of the start', 'of the last
    unit', 'of the first unit of the last row'; nothing for a place beside the one at hand."""
    ends = act.block.kind in ("finish", "row end")
    along = tuple(p for p in ref.places if p != "above")
    if ends and along and set(along) == {"prev"}:
        along = ("last", *along[1:])  # the unit before the end is the last
    if not layout.flat:
        strand = layout.strands.name_of(ring.unit) if layout.strands else ""
        tail = f" of strand {strand}" if strand else ""
        if along[:1] == ("last",):
            return place_phrase(tuple(p for p in along if p != strand)) + tail
        if along[:1] != ("first",):
            return ""
        if ring.unit == 0:
            return "of the start"
        number = layout.number(ring.unit)
        first = {1: "of the first unit", 2: "of the second unit"}
        return first.get(number, f"of unit {number}") + tail
    if ring.row == 0 < act.row:
        return "of the start"
    if act.block.kind != "finish":
        at_end = along[:1] in (("first",), ("last",))
        above = ("above",) * ref.places.count("above")
        return place_phrase((*above, *along), units=True) if at_end else ""
    if ring.row == act.row:
        return ""
    rows = {layout.rows - 1: "the row before the last", 1: "the first row"}
    row = "the last row" if ring.row == layout.rows else rows.get(ring.row)
    row = row or f"the row {number_word(layout.rows - ring.row)} before the last"
    unit = place_phrase(along, units=True)
    return f"{unit} of {row}" if unit else f"at the end of {row}"
