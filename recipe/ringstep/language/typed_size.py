"""One size as typed at a prompt or in a table: '1.2 mm', '16 awg', '5/16 in', '19 cm'.

Comes in: text. Goes out: a `Measure` in mm that remembers how it was written, or a `BadSize` that
says what to type.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from math import floor, pi

from ringstep.language.measures import awg_mm, gauge_text, swg_mm, text_mm, to_mm
from ringstep.language.screen import safe
from ringstep.language.words import listed


class BadSize(ValueError):
    """A typed size that cannot be read; its text says what is wrong, then what to type."""


@dataclass(frozen=True, slots=True)
class Measure:
    """One size as typed.

    text: the size as the trade writes it, `16 SWG`, `5/16 in`; mm: the same in mm.
    gauge: AWG or SWG, empty for a length.
    """

    text: str
    mm: float
    gauge: str = ""

    @property
    def words(self) -> str:
        """The size with its mm: '16 SWG (1.63 mm)', '1.2 mm'."""
        return self.text if self.text.endswith(" mm") else f"{self.text} ({text_mm(self.mm)} mm)"

    @property
    def sold_as(self) -> float | None:
        """The mm that a gauge is mostly labelled with, None for a length.

        To the nearest 0.1 mm, thinner than 0.8 mm to the nearest 0.05 mm: 14 AWG, 1.628 mm, is
        sold as 1.6 mm. Common practice, no source; the callipers decide.
        """
        if not self.gauge:
            return None
        steps = 10 if self.mm >= 0.8 else 20
        return floor(self.mm * steps + 0.5) / steps


@dataclass(frozen=True, slots=True)
class RingSize(Measure):
    """A finger ring as a length: round the middle of its band, mm.

    size: the number by ISO 8653, which is the inside of the ring measured round, in mm. thick: the
    band in mm. It lies outside that, so that its middle is longer by pi times thick.
    """

    size: int = 0
    thick: float = 0.0

    @property
    def round_more(self) -> float:
        """How much longer the middle of the band is than the inside, mm."""
        return pi * self.thick


#: Fractions in one sign.
SIGNS = "¼½¾⅓⅔⅛⅜⅝⅞"
_NUMBER = r"(?:[0-9]+ +)?[0-9]+/[0-9]+|[0-9]+(?:\.[0-9]*)?|\.[0-9]+"
_SIZE = re.compile(rf"({_NUMBER}) *([^\W\d_]*)")
_COMMA = re.compile(r"([0-9]+),([0-9]+) *([^\W\d_]*)")
_MARK = re.compile(rf"({_NUMBER}) *(?:\"|''|″|”|“)")
_UNSAID_GAUGE = frozenset({"g", "ga", "gauge"})
_LONGEST_MM = 1_000_000
#: The sizes on a ring stick; ISO 8653:2016, read in its draft of 2014.
_RING_SIZES = range(41, 77)
_RING_SIZE = re.compile(r"(?:ring )?size *([^ ,]*)(?:[ ,]+(.+?)(?: thick)?)?", re.I)


def read_size(text: str, *, wire: bool = False) -> Measure:
    """Read one size: mm, cm, in, and for wire also AWG and SWG. Raises `BadSize`.

    A whole number and a fraction may stand together (`7 1/2 in`), and 2/0 with a gauge is the
    gauge 2/0.

    >>> read_size("5/16 in").mm, read_size("1.2mm").words, read_size("16swg", wire=True).text
    (7.9375, '1.2 mm', '16 SWG')
    """
    typed = " ".join(text.split())
    shown = safe(typed[:40])
    number, unit = _parted(typed, shown, wire)
    if unit.casefold() in ("awg", "swg"):
        if not wire:
            raise BadSize(f"'{shown}' is a wire gauge; write this size in mm or in")
        return _gauge(number, unit.upper(), shown)
    if unit.casefold() not in ("mm", "cm", "in", "inch", "inches"):
        known = "mm, cm, in, AWG or SWG" if wire else "mm, cm or in"
        raise BadSize(f"'{safe(unit)}' is not a unit of size; write {known}")
    try:
        mm = to_mm(Fraction(plain_number(number)), unit)
    except ZeroDivisionError:
        raise BadSize(f"'{shown}' divides by zero; write it as in '5/16 in'") from None
    except ValueError as fault:  # far too large for a float
        raise BadSize(str(fault)) from None
    if not 0 < mm <= _LONGEST_MM:
        what = "is no size" if mm <= 0 else "is longer than a kilometre"
        raise BadSize(f"'{shown}' {what}; write it as in '{'1.2 mm' if wire else '5 mm'}'")
    short = {"inch": "in", "inches": "in"}.get(unit.casefold(), unit.casefold())
    return Measure(f"{number} {short}", mm)


def read_length(text: str) -> Measure:
    """Read a length, or a finger ring with how thick its band is. Raises `BadSize`.

    >>> round(read_length("ring size 54, 2 mm thick").mm, 2), read_length("19 cm").mm
    (60.28, 190.0)
    """
    found = _RING_SIZE.fullmatch(" ".join(text.split())[:80])
    if not found:
        return read_size(text)
    number, thick = found.groups()
    if not re.fullmatch("[0-9]{2}", number) or int(number) not in _RING_SIZES:
        raise BadSize(
            f"'{safe(text[:40])}' is not a ring size by ISO 8653, which go from 41 to 76 in whole"
            " numbers: the inside of the ring measured round, in mm; write it as in 'ring size 54,"
            " 2.5 mm thick'"
        )
    if not thick:
        raise BadSize(
            f"ring size {number} is the inside, and the band lies round it, so its length depends"
            f" on how thick it is; measure that on what you have woven, and write 'ring size"
            f" {number}, 2.5 mm thick'"
        )
    band = read_size(thick)
    words = f"ring size {int(number)}, {band.text} thick"
    return RingSize(words, int(number) + pi * band.mm, "", int(number), band.mm)


_EITHER_WAY = re.compile(r"±|\+ ?/? ?-")


def read_tolerance(text: str) -> tuple[Measure, float]:
    """Read a wire and by how many mm it may be off either way, 0 if not said. Raises `BadSize`.

    >>> read_tolerance("1.2 mm +- 0.02 mm")[1], read_tolerance("16 swg")[0].text
    (0.02, '16 SWG')
    """
    plain, *offs = _EITHER_WAY.split(text)
    wire = read_size(plain, wire=True)
    if not offs:
        return wire, 0.0
    if len(offs) > 1 or not offs[0].strip():
        raise BadSize(f"'{safe(text[:40])}' is not read; write it as in '1.2 mm +- 0.02 mm'")
    off = read_size(offs[0]).mm
    if off >= wire.mm / 2:
        raise BadSize(
            f"{text_mm(off)} mm is no tolerance of wire of {text_mm(wire.mm)} mm; write it as in"
            " '1.2 mm +- 0.02 mm'"
        )
    return wire, off


def plain_number(number: str) -> str:
    """A number as the language has it.

    >>> plain_number("6,5"), plain_number(".048"), plain_number("1 1/4"), plain_number("½")
    ('6.5', '0.048', '5/4', '1/2')
    """
    if sign := next((s for s in SIGNS if s in number), ""):
        value = Fraction(unicodedata.numeric(sign)).limit_denominator(8)
        return str(value + int(number.replace(sign, "").strip() or 0))
    if " " in number:
        whole, part = number.split()
        over, under = part.split("/")
        return f"{int(whole) * int(under) + int(over)}/{under}"
    number = number.replace(",", ".")
    return f"0{number}" if number.startswith(".") else number


def which_gauge(number: int) -> str:
    """What to type for a gauge number whose system is not named, with both sizes.

    >>> which_gauge(18)
    "write '18 awg' (1.02 mm) or '18 swg' (1.22 mm)"
    """
    words = []
    for unit, measure in (("awg", awg_mm), ("swg", swg_mm)):
        try:
            words.append(f"'{number} {unit}' ({text_mm(measure(number))} mm)")
        except ValueError:
            continue
    return f"write {' or '.join(words)}" if words else "write the size of the wire in mm"


def _parted(typed: str, shown: str, wire: bool) -> tuple[str, str]:
    """The number and the unit of a size. Raises `BadSize` with a mend."""
    if comma := _COMMA.fullmatch(typed):
        whole, part, unit = comma.groups()
        raise BadSize(f"'{shown}' has a decimal comma; write '{whole}.{part} {unit or 'mm'}'")
    if mark := _MARK.fullmatch(typed):
        raise BadSize(f"'{shown}' uses a mark for inches; write '{mark[1]} in'")
    found = _SIZE.fullmatch(typed) if len(typed) <= 40 else None
    if not found:
        example = "'1.2 mm', '16 awg' or '18 swg'" if wire else "'5 mm', '5/16 in' or '19 cm'"
        raise BadSize(f"'{shown}' is not a size; write it as in {example}")
    number, unit = found[1], found[2]
    if wire and (not unit or unit.casefold() in _UNSAID_GAUGE) and number.isdecimal():
        gauge = int(number)
        if 10 <= gauge <= 30:
            raise BadSize(f"'{shown}' does not say which gauge; {which_gauge(gauge)}")
    if not unit:
        units = ("mm", "in", "awg", "swg") if wire else ("mm", "cm", "in")
        raise BadSize(
            f"'{shown}' has no unit; write '{number} mm', or with {listed(units[1:], 'or')}"
        )
    return number, unit


def _gauge(number: str, unit: str, shown: str) -> Measure:
    """A gauge number, with the thick ones written 2/0, 3/0 and so on."""
    if found := re.fullmatch(r"([0-9]{1,2})/0", number):
        value = 1 - int(found[1])
    elif re.fullmatch(r"[0-9]{1,3}", number):
        value = int(number)
    else:
        raise BadSize(f"'{shown}' is no {unit} number; they are whole, or write the size in mm")
    try:
        mm = awg_mm(value) if unit == "AWG" else swg_mm(value)
    except ValueError as fault:
        raise BadSize(f"'{shown}': {fault}") from None
    return Measure(f"{gauge_text(value)} {unit}", mm, unit)
