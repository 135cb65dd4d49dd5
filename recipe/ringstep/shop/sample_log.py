"""A maker's own measured samples, a line of text each, kept beside a recipe.

Comes in: the text of such a log, and a clean `View`. Goes out: frozen `Entry`s and why other lines
cannot be read; the recipe with the newest sample of its rings in place of its own.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import cache, lru_cache

from ringstep.checks.rules.sample_length import check as unlikely
from ringstep.checks.summary import sampled_blocks
from ringstep.checks.view import View
from ringstep.language.parse import parse
from ringstep.language.screen import safe
from ringstep.language.source import Refused, Span, source_from_text
from ringstep.language.syntax import RingKind, Size, Stated
from ringstep.language.tree import Piece, Sample
from ringstep.language.typed_size import BadSize, read_size
from ringstep.language.words import listed, or_nearest, plural
from ringstep.weave.marks import weave_mark
from ringstep.weave.repeats import repeating

#: How a piece lies while it is measured, by the word that is typed.
STATES = {
    "flat": "laid flat",
    "hanging": "hanging",
    "pulled": "pulled straight",
    "pushed": "pushed together",
}
#: In these a piece is worn and its length is wanted; the other two are the ends of what it can do.
_WORN = ("laid flat", "hanging")
#: Rings count as the same within so many mm of wire and of inside: a gauge and the mm it is sold as
#: (16 SWG, 1.63 mm, as 1.6) are one ring. Common practice, no source.
SAME_WIRE, SAME_INSIDE = 0.03, 0.05
MOST_NOTE = 200
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_NOTE = re.compile(r";\s*note\s+", re.I)
_UNITS = re.compile(r"([0-9]{1,6})\s+([^\s=;]+)")
HEAD = (
    "# Samples measured of {name}, a line each: day; units = length; state; rings; weave; note.\n"
    "# 'ringstep sample add' writes them; the newest of the same rings is what lengths go by.\n"
)


class BadEntry(Refused):
    """A sample that cannot be read or used; the text says why and what to type."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One measured sample.

    day: as in 2026-11-26. label: which named units, "" where all are alike. size: the length as
    typed; mm: the same. rings: what it was made of, as lines of `rings:`. weave: which weave and
    which unit of it. line: where it stands in the log, from 1.
    """

    day: str
    units: int
    label: str
    size: str
    mm: float
    state: str
    rings: tuple[RingKind, ...]
    weave: str
    note: str = ""
    line: int = 0

    @property
    def measured(self) -> str:
        """What was measured: '10 units = 41 mm'."""
        word = self.label or ("unit" if self.units == 1 else "units")
        return f"{self.units} {word} = {self.size}"

    @property
    def text(self) -> str:
        """The sample as a line of the log."""
        rings = [f"rings {ring_text(k, len(self.rings) > 1)}" for k in self.rings]
        note = [f"note {self.note}"] if self.note else []
        return "; ".join(
            [self.day, self.measured, self.state, *rings, f"weave {self.weave}", *note]
        )


@dataclass(frozen=True, slots=True)
class Log:
    """A log as read. unread: the number of each line that cannot be read, and why."""

    entries: tuple[Entry, ...]
    unread: tuple[tuple[int, str], ...] = ()


def ring_text(kind: RingKind, named: bool = True) -> str:
    """A ring as its line has it; the name of `all` is left out, and any where not `named`."""
    name = str(kind.name) if named or str(kind.name).casefold() != "all" else ""
    sizes = [f"{w} {s.text}" for w, s in (("wire", kind.wire), ("inside", kind.inside)) if s]
    return f"{name} {', '.join([*sizes, *([kind.material] if kind.material else [])])}".strip()


# -- reading ---------------------------------------------------------------------------------------


def read_log(text: str) -> Log:
    """Read a log; empty lines and those that begin with `#` say nothing."""
    entries, unread = [], []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        try:
            entries.append(replace(_entry(line), line=number))
        except BadEntry as fault:
            unread.append((number, str(fault)))
    return Log(tuple(entries), tuple(unread))


def _entry(line: str) -> Entry:
    """One line of a log. Raises `BadEntry`."""
    line, *note = _NOTE.split(line, maxsplit=1)
    first, *fields = (part.strip() for part in line.split(";"))
    day = read_day(first)
    found: dict[str, str] = {}
    rings: list[RingKind] = []
    for field in fields:
        word, _, rest = field.partition(" ")
        word = word.casefold()
        state = read_state(field) if field else ""
        name = "state" if state else "units" if "=" in field else word
        if name == "rings":
            rings += read_rings(rest)
        elif name not in ("state", "units", "weave") or name in found:
            why = "stands twice" if name in found else "is not known here"
            raise BadEntry(
                f"'{safe(field[:40])}' {why}; a line reads '2026-11-26; 10 units = 41 mm;"
                " laid flat; rings wire 1.2 mm, inside 5 mm; weave …; note …'"
            )
        else:
            found[name] = state or (field if name == "units" else " ".join(rest.split()))
    lacking = [w for w in ("units", "weave") if not found.get(w)] + ([] if rings else ["rings"])
    if lacking:
        raise BadEntry(f"the line says nothing of {listed(lacking)}; 'ringstep sample add' does")
    what, _, size = found["units"].partition("=")
    units, label = read_units(what)
    return Entry(
        day, units, label, *read_length(size), found.get("state", STATES["flat"]),
        tuple(rings), found["weave"], "".join(note).strip(),
    )  # fmt: skip


def read_day(text: str) -> str:
    """A day as in 2026-11-26. Raises `BadEntry`."""
    try:
        if _DAY.fullmatch(text):
            return date.fromisoformat(text).isoformat()
    except ValueError:  # the 31st of a month of 30 days
        pass
    raise BadEntry(f"'{safe(text[:40])}' is no day; write it as in 2026-11-26")


def read_units(text: str) -> tuple[int, str]:
    """How many units, and their name or "": '10', '10 units', '10 byz'. Raises `BadEntry`."""
    plain = text.strip()
    match = _UNITS.fullmatch(f"{plain} units" if plain.isdecimal() else plain)
    if match is None or int(match[1]) == 0:
        raise BadEntry(
            f"'{safe(plain[:40])}' is no number of units; write it as in '10' or '10 byz'"
        )
    return int(match[1]), "" if match[2].casefold() in ("unit", "units") else match[2]


def read_length(text: str) -> tuple[str, float]:
    """A length as written and in mm. Raises `BadEntry`."""
    try:
        size = read_size(text)
    except BadSize as fault:
        raise BadEntry(str(fault)) from None
    return size.text, size.mm


def read_state(text: str) -> str:
    """A state by its word or in full; "" where it is none."""
    plain = " ".join(text.casefold().split())
    return STATES.get(plain) or next((s for s in STATES.values() if s == plain), "")


_AS_IN = "write them as in 'wire 1.2 mm, inside 5 mm, copper'"


@cache
def read_rings(text: str) -> tuple[RingKind, ...]:
    """Rings as lines of `rings:`, parted by semicolons; without a name they are all. Raises
    `BadEntry`."""
    lines = [part.strip() for part in text.split(";") if part.strip()]
    named = [x if not x.casefold().startswith(("wire", "inside")) else f"all {x}" for x in lines]
    some_step = ("start:", "  close A")  # without any the text is no recipe
    told = ["rings:", *(f"  {x}" for x in named), *some_step]
    tree, troubles = parse(source_from_text("\n".join(told)))
    shown = f"the rings '{safe(text[:60])}'"
    if troubles:
        raise BadEntry(f"{shown} cannot be read: {troubles[0].message}; {_AS_IN}")
    if not tree.rings or any(None in kind.mm or 0 in kind.mm or kind.along for kind in tree.rings):
        raise BadEntry(f"{shown} lack a size; {_AS_IN}")
    return tree.rings


# -- which samples hold ----------------------------------------------------------------------------


@lru_cache(maxsize=8)
def weave_names(view: View, label: str) -> tuple[str, ...]:
    """What a sample is a sample of: the weave mark, the rings of a unit and how many are folded;
    that of the mirror image behind it. Empty where the weave is too large for a mark.

    The mark alone would not do: weaves with the same links may be folded otherwise, and a unit
    written twice as long measures twice as much.
    """
    mark = weave_mark(view.weave)
    if mark is None:
        return ()
    parts = view.recipe.part_roles
    blocks = sampled_blocks(view, label)
    again = view.weave.layout.block("again")
    steps = [s for block in (*blocks, *([again] if again else [])) for s in block.steps]
    rings = sum(role not in parts for step in steps for role, _ in step.placed)
    of = "a unit" if len(blocks) == 1 else f"in {len(blocks)} units"
    told = f"{plural(rings, 'ring')} {of}"
    if repeat := repeating(view.weave).repeat:
        folded = sum(len(a.handled) for a in repeat.acts if a.step.kind == "fold back")
        share = Fraction(folded, len(repeat.classes))
        told += f", {share.numerator} in {share.denominator} folded" if folded else ""
    marks = dict.fromkeys(f"{mark.links}-{lay}" if lay else mark.links
                          for lay in (mark.lay, mark.mirror))  # fmt: skip
    return tuple(f"{each}, {told}" for each in marks)


def own_rings(view: View, label: str) -> tuple[RingKind, ...]:
    """The rings of a unit of the recipe: one line where all are alike. Raises `BadEntry`."""
    used = _used(view, label)
    if not used or any(None in kind.mm for kind in used.values()):
        raise BadEntry("the recipe does not give the sizes of its rings; say them with --rings")
    if len({(kind.mm, kind.material) for kind in used.values()}) == 1:
        kind = next(iter(used.values()))
        return (replace(kind, name=replace(kind.name, role="all", index=None)),)
    lines = {kind.span.line: kind for kind in used.values()}
    return tuple(lines[at] for at in sorted(lines))


def _used(view: View, label: str) -> dict[tuple[str, int], RingKind]:
    """The line of `rings:` of every ring that the measured units place, parts aside."""
    steps = [step for block in sampled_blocks(view, label) for step in block.steps]
    found = {}
    for ring in (ring for step in steps for ring in step.placed):
        if ring[0] not in view.recipe.part_roles and (kind := view.recipe.kind_of(*ring)):
            found[ring] = kind
    return found


def _same_rings(view: View, entry: Entry) -> bool:
    """Whether the measured units have the rings of the sample, within what counts as the same."""
    given = {(str(k.name).casefold() == "all" and "all") or str(k.name): k for k in entry.rings}
    used = _used(view, entry.label)
    for (role, index), kind in used.items():
        other = given.get(f"{role}{index}") or given.get(role) or given.get("all")
        if other is None:
            return False
        for mine, theirs, within in zip(kind.mm, other.mm, (SAME_WIRE, SAME_INSIDE), strict=True):
            if mine is None or theirs is None or abs(mine - theirs) > within + 1e-9:
                return False
    return bool(used)


def why_not(view: View, entry: Entry) -> str:
    """Why a length of the recipe does not go by a sample; "" where it may."""
    piece = view.recipe.piece
    if piece is None or (why := refused(view)):
        return why if piece else "no piece"
    if entry.label and entry.label not in _labels(piece):
        return f"no unit {entry.label}"
    if entry.weave not in weave_names(view, entry.label):
        return "another weave"
    if not _same_rings(view, entry):
        return "other rings"
    if entry.state not in _WORN:
        return entry.state
    found = [*unlikely(_with(view, [entry]))]
    return "cannot be that long" if found else ""


def refused(view: View) -> str:
    """Why units of a recipe are not measured by samples; "" where they are."""
    layout, recipe = view.weave.layout, view.recipe
    if recipe.made:
        return "joined of pieces"
    if layout.flat:
        return f"a {layout.kind} has rows"
    if any(kind.along for kind in recipe.rings):
        return "its sizes change along the piece"
    return "" if sampled_blocks(view, "") else "no unit repeats"


def _labels(piece: Piece) -> tuple[str, ...]:
    """The names of units that a sample may measure."""
    return tuple(dict.fromkeys(s.value for s in (*piece.order, *(s.name for s in piece.strands))))


def must_be_measured(view: View, label: str) -> None:
    """Raises `BadEntry` where no sample is kept of a recipe, or none of units of that name."""
    piece = view.recipe.piece
    if (why := refused(view)) or piece is None:
        raise BadEntry(f"no sample is kept of this recipe: {why or 'it says of no piece'}")
    labels = _labels(piece)
    if label and label not in labels:
        raise BadEntry(f"the recipe has no unit '{safe(label)}'{or_nearest(label, labels)}")
    if piece.runs and not label:
        raise BadEntry(f"say which units were measured, as in --units '10 {labels[0]}'")
    if not weave_names(view, label):
        raise BadEntry("this weave is too large for a weave mark; write 'sample …' into the recipe")


def must_be_likely(view: View, entry: Entry) -> None:
    """Raises `BadEntry` for a length that the rings of the sample cannot come to."""
    for finding in unlikely(_with(view, [entry])) if _same_rings(view, entry) else ():
        raise BadEntry("; ".join([finding.message, *finding.help]))


def in_use(view: View, entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """The samples that lengths of the recipe go by: the newest for each name of units."""
    newest: dict[str, Entry] = {}
    reason: Callable[[Entry], str] = cache(lambda e: why_not(view, e))
    for entry in sorted(entries, key=lambda e: (e.day, e.line), reverse=True):
        if entry.label not in newest and not reason(entry):
            newest[entry.label] = entry
    return tuple(newest.values())


def measured_view(view: View, entries: Iterable[Entry]) -> View:
    """The recipe with the newest samples of its rings in place of its own."""
    used = in_use(view, entries)
    return _with(view, used) if used else view


def _with(view: View, entries: Iterable[Entry]) -> View:
    """The recipe with these samples; its own stay where there is none of the same units."""
    piece = view.recipe.piece
    assert piece is not None
    samples = [_sample(entry, piece.span) for entry in entries]
    labels = {s.label and s.label.value for s in samples}
    samples += [s for s in piece.samples if (s.label and s.label.value) not in labels]
    other = View(replace(view.recipe, piece=replace(piece, samples=tuple(samples))), view.troubles)
    other.__dict__["chosen"] = view.chosen
    return other


def _sample(entry: Entry, span: Span) -> Sample:
    mm = Fraction(entry.mm).limit_denominator(10**6)
    label = Stated(entry.label, span) if entry.label else None
    size = Size(mm, "mm", span, entry.size)
    return Sample(entry.units, size, label, entry.state, entry.day)
