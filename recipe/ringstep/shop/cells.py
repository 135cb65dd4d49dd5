"""Cells of a list: money, counts and sizes as shops write them.

Comes in: the text of a cell, the heading above it, the decimal mark of the list. Goes out: exact
values, or a `BadSize` that says what to type.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal

from ringstep.language.screen import safe
from ringstep.language.typed_size import SIGNS as FRACTIONS
from ringstep.language.typed_size import BadSize, Measure, plain_number, read_size
from ringstep.shop.list_words import CURRENCIES, OUTSIDE, PIECES, SIGNS
from ringstep.shop.rows import plain_words

_DIGITS = r"[0-9][0-9.,'’ ]*|[.,][0-9]+"
_MONEY = re.compile(rf"(?P<before>[^0-9.,'’+-]*?)\s*(?P<number>{_DIGITS})\s*(?P<behind>[^0-9]*)")
_ONE_MARK = re.compile(r"([0-9]*)([.,])([0-9]+)")
_UNIT = r"millimet(?:re|er)s?|mm|cm|inch(?:es)?|in|awg|swg|gauge|ga|g|\"|''|″|”|“"
_NUMBER = (
    rf"(?:[0-9]+\s+)?[0-9]+/[0-9]+|(?:[0-9]+\s*)?[{FRACTIONS}]|[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+"
)
_TWO_SIZES = re.compile(
    rf"(?<![0-9.,/])(?P<one>{_NUMBER})\s*(?P<unit>{_UNIT})?\s*[x×*]\s*"
    rf"(?P<two>{_NUMBER})(?![0-9])\s*(?P<last>(?:{_UNIT})(?![^\W\d_]))?(?!\s*[x×*]\s*[0-9])",
    re.I,
)
_SIZE = re.compile(rf"[ø⌀]?\s*(?P<number>{_NUMBER})\s*(?P<unit>{_UNIT})?", re.I)
_BARE = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_INCH = dict.fromkeys(('"', "''", "″", "”", "“"), "in")


def decimal_mark(cells: Iterable[str]) -> str:
    """The decimal mark that the numbers of a list show; empty where they show none, or both.

    >>> decimal_mark(["3,90", "12"]), decimal_mark(["1.234"]), decimal_mark(["1.234,50"])
    (',', '', ',')
    """
    seen = set()
    for cell in cells:
        for number in re.findall(r"[0-9.,]*[0-9]", cell):
            marks = re.sub("[0-9]", "", number)
            if len(set(marks)) == 2 and marks[-1] not in marks[:-1]:
                seen.add(marks[-1])
            elif (one := _ONE_MARK.fullmatch(number)) and not _may_part(one):
                seen.add(one[2])
    return seen.pop() if len(seen) == 1 else ""


def _may_part(number: re.Match[str]) -> bool:
    """Whether the one mark of a number may part its thousands."""
    return len(number[3]) == 3 and 0 < len(number[1]) < 4 and not number[1].startswith("0")


def plain(text: str, mark: str) -> str:
    """A number with a point and nothing else. mark: the decimal mark of the list, or empty.

    >>> plain("1.234,50", ""), plain("3,90", ""), plain("1 000", ""), plain("1.234", ",")
    ('1234.50', '3.90', '1000', '1234')

    Raises `BadSize` where it may be one of two numbers, or none.
    """
    if one := _ONE_MARK.fullmatch(text):
        whole, point, part = one.groups()
        if not _may_part(one) or mark == point:
            return f"{whole or 0}.{part}"
        if not mark:
            raise BadSize(
                f"'{text}' may be {whole}{part} or {whole}.{part} with its decimals; write the one"
                f" that is meant, as {whole}{part} or {whole}.{part}0"
            )
        return whole + part
    for parts in ".", ",", "'", "’", " ":
        point = "[.]" if parts == "," else "," if parts == "." else "[.,]"
        if re.fullmatch(rf"[0-9]{{1,3}}([{parts}][0-9]{{3}})+({point}[0-9]+)?", text):
            return text.replace(parts, "").replace(",", ".")
    if re.fullmatch(r"[0-9]+", text):
        return text
    raise BadSize(f"'{safe(text[:24])}' is no number")


def money(text: str, mark: str) -> tuple[Decimal, str]:
    """An amount of money, exact, and the currency that stands beside it, if any.

    >>> money("€ 1.234,50", ""), money("3.90", ""), money("12 CHF", "")
    ((Decimal('1234.50'), 'EUR'), (Decimal('3.90'), ''), (Decimal('12'), 'CHF'))
    """
    text = " ".join(text.split())
    shown = safe(text[:24])
    found = _MONEY.fullmatch(text)
    if re.match(r"[^0-9]*[-−–]\s*[0-9.,]", text):
        raise BadSize(f"'{shown}' is below zero; write what the pack costs, such as 4.50")
    if found:
        signs = [currency(x) for x in (found["before"], found["behind"]) if x.strip()]
        number = plain(found["number"].strip(), mark)
        if all(signs) and len(signs) < 2 and re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,5})?", number):
            return Decimal(number), signs[0] if signs else ""
    raise BadSize(f"'{shown}' is no price; write a number such as 4.50, or one such as 4.50 EUR")


def currency(text: str) -> str:
    """The currency that a sign or three known letters stand for, empty where they do not.

    >>> currency("€"), currency("eur"), currency("net")
    ('EUR', 'EUR', '')
    """
    word = text.strip().strip(".").casefold()
    return SIGNS.get(word, word.upper() if word.upper() in CURRENCIES else "")


def read_currency(text: str) -> str:
    """The currency of a cell of its own: a sign, or any three letters as ISO 4217 has them."""
    if found := currency(text):
        return found
    if re.fullmatch(r"[A-Za-z]{3}", text):
        return text.upper()
    raise BadSize(f"'{safe(text[:24])}' is no currency; write its three letters, such as EUR")


def currency_in(head: str) -> str:
    """The currency that a heading names, as in 'price (EUR)' or 'Preis in €'."""
    words = re.findall(r"[^\W\d_]+|[€£$]", head)
    return next((c for w in words if (w.isupper() or w in "€£$") and (c := currency(w))), "")


def count(text: str, mark: str) -> int:
    """A whole number of pieces: '100', '1.000', '100 pcs', '100er'."""
    text = " ".join(text.split())
    found = re.fullmatch(
        rf"(?P<before>[^0-9]*?)\s*(?P<number>{_DIGITS})\s*(?P<behind>[^0-9]*)", text
    )
    said = plain_words(f"{found['before']} {found['behind']}") if found else []
    if found and PIECES.issuperset(said) and "-" not in found["before"]:
        number = found["number"].strip(" '’.,")
        one = _ONE_MARK.fullmatch(number)
        if not (one and _may_part(one) and mark == one[2]):
            number = plain(number, {".": ",", ",": "."}[one[2]] if one and _may_part(one) else mark)
        if re.fullmatch(r"[0-9]{1,9}", number):
            return int(number)
    raise BadSize(f"'{safe(text[:24])}' is no count; write a whole number such as 100")


def unit_in(head: str) -> str:
    """The unit of size that a heading names; empty where it names none.

    >>> unit_in("wire mm"), unit_in("ID (in)"), unit_in("Draht in mm"), unit_in("inside")
    ('mm', 'in', 'mm', '')
    """
    words = re.findall(r"[^\W\d_]+", head.casefold())
    for unit in ("mm", "cm", "awg", "swg", "inch", "inches"):
        if unit in words:
            return unit
    return "in" if (words[1:] and words[-1] == "in") or re.search('["″”]', head) else ""


def size(text: str, head: str, *, wire: bool = False) -> Measure:
    """One size of a ring, with the unit of its heading where it has none of its own.

    >>> size("1,2", "Draht mm", wire=True).mm, size('5/16"', "ID").mm
    (1.2, 7.9375)
    """
    found = _SIZE.fullmatch(text)
    if found is None:
        return read_size(text, wire=wire)
    unit = found["unit"] or unit_in(head)
    return _measure(found["number"], unit, wire)


def must_be_mm(sizes: Iterable[tuple[str, str]]) -> bool:
    """True where the bare numbers of wires and insides can be nothing but mm.

    A wire of 0.3 inch is no wire, and gauges have no decimals.

    >>> must_be_mm([("1,2", "5"), ("1", "4,5")]), must_be_mm([("0.05", "0.2")])
    (True, False)
    >>> must_be_mm([("16", "5"), ("18", "4.5")])
    False
    """
    bare = [(one, two) for one, two in sizes if _BARE.fullmatch(one) and _BARE.fullmatch(two)]
    numbers = [(float(a.replace(",", ".")), float(b.replace(",", "."))) for a, b in bare]
    broken = any("," in wire or "." in wire for wire, _ in bare)
    return broken and all(0.3 <= wire <= 5 and inside > wire for wire, inside in numbers)


def _measure(number: str, unit: str, wire: bool) -> Measure:
    unit = _INCH.get(unit, unit)
    unit = "mm" if unit.casefold().startswith("milli") else unit
    if any(c in number for c in ",.") or any(c in number for c in FRACTIONS):
        number = plain_number(number.replace(",", "."))
    return read_size(f"{number} {unit}".strip(), wire=wire)


def two_sizes(text: str, head: str) -> tuple[Measure, Measure] | None:
    """Wire and inside out of one cell, '1.2 × 5 mm, copper': the thinner is the wire.

    Two numbers without a unit are mm where the wire has decimals, as in '1,2 x 5'. None where there
    are not two, or where the outside is given. Raises `BadSize`.
    """
    found = _TWO_SIZES.search(text)
    if found is None or OUTSIDE.intersection(plain_words(text)):
        return None
    last = found["last"] or unit_in(head)
    first = found["unit"] or last
    last = last or first
    if not last and re.fullmatch(r"[0-9]+[.,][0-9]+", found["one"]):
        first = last = "mm"  # an inch thick would be no wire
    gauge = first.casefold() not in ("mm", "cm", "in", "inch", "inches", *_INCH)
    one, two = _measure(found["one"], first, True), _measure(found["two"], last, gauge is False)
    if not gauge and one.mm > two.mm:
        one, two = two, one
    return one, two


def without_sizes(text: str) -> str:
    """What a cell says beside the two sizes of a ring."""
    return _TWO_SIZES.sub(" ", text)
