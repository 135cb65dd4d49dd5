"""Ring sizes as makers write them: '1.2 mm wire, 6.5 mm id', '18 ga x 1/4"', 'wire 1.2 mm, AR 4'.

Comes in: a line of `rings:`. Goes out: a `Habit` with the whole line to type; None where the line
has its words and sizes in the order of the language, or does not hold one ring's two sizes.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from ringstep.language.habits import Habit, habit_of
from ringstep.language.measures import awg_mm, swg_mm, text_mm, to_mm
from ringstep.language.typed_size import SIGNS, plain_number

_TOKEN = re.compile(
    rf"""(?P<before>(?:awg|swg|gauge|ga|\#)\s*)?
    (?P<number>\d+\s+\d+/\d+ | \d+/\d+ | \d*\s?[{SIGNS}] | \d+(?:[.,]\d+)? | \.\d+)
    (?:\s*(?P<unit>mm|cm|inch(?:es)?|in|awg|swg|gauge|ga|g|millimet(?:re|er)s?|"|''|″|”)(?!\w))?
    | (?P<mark>[=:~≈⌀]|ø(?=[\s\d])|\([^()]*\d[^()]*\))
    | (?P<comma>[,;|/×*]|x(?=\s*[\d.]))
    | (?P<word>[^\W\d_](?:[\w'’-]|\.(?=\w))*)\.?
    | \s+""",
    re.I | re.X,
)
#: A role, with its number where what follows cannot be the unit of a size.
_NAME = re.compile(
    r"\s*([^\s\d,:=][^\s,:=]*(?:\s+\d+(?=\s+(?:(?!gauge|inch)[^\W\d_]{4}|\d+[.,])))?)", re.I
)
_OWN = dict.fromkeys(('"', "''", "″", "”", "inch", "inches"), "in")
_OWN |= dict.fromkeys(("gauge", "ga", "g", "#"), "?")
_MEANS = {
    "wire": ("wire", "gauge", "thick", "thickness"),
    "inside": ("inside", "id", "i.d", "inner", "internal", "opening", "hole", "mandrel"),
    "outside": ("outside", "od", "o.d", "outer", "external"),
    "AR": ("ar",),
}
_LABELS = {word: label for label, words in _MEANS.items() for word in words}
_FILLING = frozenset({"diameter", "diam", "dia", "size", "ring", "rings", "of", "with", "the"})
_PARTS = frozenset({"x", "and", "&", "by"})
#: What is said of a size that is not one of the two that are asked for.
_SAID_OF = {
    "?": "does not say which gauge",
    "AR": "is no size",
    "outside": "is the outside of the ring; 'inside' is asked for",
}
#: More than this is a slip of the keyboard, which the reader tells of.
_MOST_LETTERS = 12


@dataclass(slots=True)
class _Size:
    """A number with its unit ('?' for a gauge without its system), and what it measures.

    start, end: of the size, and of its label once it has one. odd: how many ways it is written
    unlike the language has it. turned: whether the unit stands first.
    """

    start: int
    end: int
    number: str
    unit: str
    odd: int
    turned: bool
    label: str = ""

    @property
    def text(self) -> str:
        return f"{self.number} {self.unit}"

    @property
    def mm(self) -> float:
        """Raises ValueError or ZeroDivisionError where it is no size."""
        return to_mm(Fraction(self.number), self.unit)


@dataclass(slots=True)
class _Word:
    start: int
    end: int
    text: str

    @property
    def label(self) -> str:
        return _LABELS.get(self.text.casefold(), "")


def habit_of_sizes(text: str) -> Habit | None:
    """What a line of `rings:` has in another order or in other words, and the line to type."""
    named = _NAME.match(text)
    faults: list[Habit] = []
    pieces = _pieces(text, named.end(), faults) if named else None
    if named is None or pieces is None:
        return None
    sizes = [x for piece in pieces for x in piece if isinstance(x, _Size)]
    if len(sizes) != 2:
        return None
    rest: list[str] = []
    for piece in pieces:
        here = [x for x in piece if isinstance(x, _Size)]
        words = [x for x in piece if isinstance(x, _Word)]
        if not here:
            rest.append(" ".join(w.text for w in words))
            continue
        kept = _labelled(text, here, words, faults)
        if kept and not here[0].label and kept[0].start < here[0].start:
            return None  # a word that may be a label misspelt
        rest += [" ".join(w.text for w in kept)] if kept else []
    _by_elimination(text, sizes, faults)
    if not faults and sum(s.odd for s in sizes) > 1 and (habit := habit_of(text, "ring_kind")):
        faults.append(habit)
    if not faults:
        return None
    tail = "".join(f", {words}" for words in rest)
    try:
        help = _mends(" ".join(named[1].split()), sizes, tail)
    except (ValueError, ZeroDivisionError, OverflowError):
        return None
    if not help:
        return None
    first = min(faults, key=lambda f: f.start)
    lead = "a size comes after its word: " if " stands before its word " in first.message else ""
    for size in sizes:
        if what := _SAID_OF.get("?" if size.unit == "?" else size.label):
            said = text[size.start : size.end].strip()
            first, lead = Habit(size.start, size.end, f"'{said}' {what}", ""), ""
    return Habit(first.start, first.end, first.message, lead + help)


def _pieces(text: str, at: int, faults: list[Habit]) -> list[list[_Size | _Word]] | None:
    """The sizes and words between commas; None where the line holds anything else."""
    pieces: list[list[_Size | _Word]] = [[]]
    while at < len(text):
        found = _TOKEN.match(text, at)
        if found is None or found.end() - at > 4 * _MOST_LETTERS:
            return None
        at = found.end()
        if number := found["number"]:
            if len(number) > _MOST_LETTERS:
                return None
            said = (found["unit"] or found["before"] or "").strip().casefold()
            unit = "mm" if said.startswith("milli") else _OWN.get(said, said)
            turned = bool(found["before"] and not found["unit"])
            plain = plain_number(number)
            odd = (plain != number) + (unit != said and not said.startswith("inch"))
            pieces[-1].append(_Size(*found.span(), plain, unit, odd, turned))
        elif word := found["word"]:
            if word.casefold() in _PARTS:
                pieces.append([])
            else:
                pieces[-1].append(_Word(*found.span("word"), word))
        elif found["comma"]:
            pieces.append([])
        elif mark := found["mark"]:
            faults.append(Habit(*found.span(), f"there is a stray '{mark}' here", ""))
    return [p for p in pieces if p]


def _labelled(
    text: str, sizes: list[_Size], words: list[_Word], faults: list[Habit]
) -> list[_Word]:
    """Give the sizes of one piece their labels; back come its words that are not about sizes."""
    told = [w for w in words if w.label]
    before = bool(told) and told[0].start < sizes[0].start
    for i, size in enumerate(sizes):
        low = size.end if not before else sizes[i - 1].end if i else 0
        ends = [s.start for s in sizes[i + 1 :]]
        high = size.start if before else ends[0] if ends else len(text)
        near = [w for w in told if low <= w.start < high]
        size.label = near[0].label if near else ""
        said = text[size.start : size.end].strip()
        if near and not before:
            message = f"the size '{said}' stands before its word '{near[0].label}'"
            faults.append(Habit(size.start, near[0].end, message, ""))
        elif size.turned:
            message = f"the unit stands before its number, '{said}'"
            faults.append(Habit(size.start, size.end, message, ""))
        if i and near and before:
            message = f"there is no comma before '{near[0].text}'"
            faults.append(Habit(near[0].start, near[0].end, message, ""))
        if near:
            size.start, size.end = min(size.start, near[0].start), max(size.end, near[0].end)
    about = [w for w in words if w.label or w.text.casefold() in _FILLING]
    faults += [
        Habit(w.start, w.end, f"'{w.text}' is not a word of the language here", "")
        for w in about
        if w.text.casefold() not in ("wire", "inside")
    ]
    return [w for w in words if w not in about]


def _by_elimination(text: str, sizes: list[_Size], faults: list[Habit]) -> None:
    """Label what has no label: a gauge is wire, and of two lengths wire is the thinner."""
    one, two = sizes
    both = ((one, two), (two, one))
    for size, other in both:
        if not size.unit and re.fullmatch("[1-3][0-9]", size.number) and size.label != "inside":
            size.unit = "?"
        elif not size.unit:
            fraction = "in" if "/" in size.number else "mm"
            size.unit = other.unit if other.unit in ("mm", "cm", "in") else fraction
    for size in sizes:
        if not size.label:
            said = text[size.start : size.end].strip()
            message = f"nothing says whether '{said}' is the wire or the opening"
            faults.append(Habit(size.start, size.end, message, ""))
    for size, other in both:
        if not size.label and other.label:
            size.label = "inside" if other.label == "wire" else "wire"
    if not one.label:
        gauge = [s.unit in ("?", "awg", "swg") for s in sizes]
        try:
            turned = gauge[1] or (not gauge[0] and one.mm > two.mm)
        except (ValueError, ZeroDivisionError):
            return
        one.label, two.label = ("inside", "wire") if turned else ("wire", "inside")


def _mends(name: str, sizes: list[_Size], tail: str) -> str:
    """The line to type, or both where a gauge could be either; empty where it is not known.

    Raises ValueError or ZeroDivisionError where one of the two is no size.
    """
    labels = {size.label: size for size in sizes}
    if "wire" not in labels or len(labels) != 2:
        return ""
    wire = labels.pop("wire")
    ((label, other),) = labels.items()
    if wire.unit == "?":
        number = int(wire.number)
        american, british = text_mm(awg_mm(number)), text_mm(swg_mm(number))
        if label != "inside":
            return ""
        return (
            f"write '{name}  wire {number} awg, inside {other.text}{tail}', if the gauge is"
            f" American ({american} mm)\n"
            f"or '{name}  wire {number} swg, inside {other.text}{tail}', if it is British"
            f" ({british} mm)"
        )
    inside, why = other.text, ""
    if label == "AR":
        opening = float(Fraction(other.number)) * wire.mm
        inside = f"{text_mm(opening)} mm"
        why = f"AR is inside over wire; for AR {other.number} "
    elif label == "outside":
        opening = other.mm - 2 * wire.mm
        inside, why = f"{text_mm(opening)} mm", "inside is outside less two wires: "
    else:
        opening = other.mm
    if not 0 < wire.mm < opening:
        return ""
    return f"{why}write '{name}  wire {wire.text}, inside {inside}{tail}'"
