"""What comes off a mandrel, and which mandrel to buy: as tables, as JSON and as CSV.

Comes in: rings wound, with the kind of the recipe they are for, if any. Goes out: `Printed` words,
or plain data.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import pi
from typing import Any

from ringstep.language.measures import text_mm
from ringstep.language.words import listed
from ringstep.paper.cautions import WINDING
from ringstep.paper.printed import Printed, Sheet
from ringstep.paper.size_tables import range_words, verdict_in
from ringstep.shop.fitting import RingUse
from ringstep.shop.mandrel import Coil
from ringstep.shop.mandrel_steps import Choice, Wire, Wound
from ringstep.weave.working_range import Range, Verdict, ratio, ratio_text

#: By how many mm a reading of callipers may well be off: common practice, no source.
_MISREAD_MM = 0.05


@dataclass(frozen=True, slots=True)
class Task:
    """What was asked of one kind of ring. wire: what is wound; saw: blade in mm, 0 for none.

    use: the kind of a recipe, None without one. range, inside: the AR or the inside in mm that is
    wanted, None where it is not. rings: what comes off each mandrel. choices: for each spool how
    they were found, where a mandrel was looked for.
    """

    use: RingUse | None
    wire: Wire
    saw: float
    range: Range | None
    inside: float | None
    rings: tuple[Wound, ...]
    choices: tuple[Choice, ...] = ()

    def verdict(self, ring: Wound) -> Verdict:
        """Whether a ring is what is wanted; 'no range' where nothing says so."""
        fits = self.range.verdict(ring.ratio) if self.range else "no range"
        held = self.use.verdict(self.wire.size.mm, ring.inside) if self.use else fits
        return "cannot be" if held == "cannot be" else fits


def mandrel_page(title: str, tasks: Iterable[Task]) -> Printed:
    """All that was asked, a sheet for each kind of ring, and the cautions; no note twice."""
    sheets, said = [], set[str]()
    for task in tasks:
        notes = [n for n in _notes(task) if n not in said]
        said.update(notes)
        sheets.append(_sheet(task, notes))
    return Printed(title, (), (*sheets, Sheet("Before you wind", notes=WINDING)))


def _sheet(task: Task, notes: Iterable[str]) -> Sheet:
    rings, places = task.rings, task.range.places if task.range else 1
    columns = {
        "mandrel": [one.mandrel.words for one in rings],
        "wire": [f"{task.wire.size.words}, {one.spool.words}" for one in rings],
        "coil inside, mm": [f"{one.coil:.2f}" for one in rings],
    }
    if task.saw:
        columns["ring inside, mm"] = [f"{one.inside:.2f}" for one in rings]
    columns["AR"] = [ratio_text(one.ratio, places + 1) for one in rings]
    if task.wire.off:
        columns[f"AR, wire ± {task.wire.off:g} mm"] = [
            f"{ratio_text(one.band[0], places + 1)} to {ratio_text(one.band[1], places + 1)}"
            for one in rings
            if one.band
        ]
    if task.range:
        columns["verdict"] = [_verdict_words(task, one, task.range) for one in rings]
    asked = "Which mandrel" if task.choices else "From mandrel to ring"
    of = f": {task.use.label}" if task.use else ""
    answers = [f"{one.spool.words} takes one of {_exactly(one)}" for one in task.choices]
    intro = f"For {_wanted(task)} {listed(answers)}.{_to_buy(task)}" if answers else ""
    return replace(Sheet.of_columns(f"{asked}{of}", columns, 2, notes), intro=intro)


def _to_buy(task: Task) -> str:
    """Of the mandrels on sale the one whose rings come nearest to what is wanted, if one is."""
    own = task.use.own_ratio if task.use else None
    if task.inside is not None:
        own = ratio(task.wire.size.mm, task.inside)
    elif task.range and task.range.high is not None:
        middle = (task.range.low + task.range.high) / 2
        own = own if own and task.range.verdict(own) == "fits" else middle
    fit = [one for one in task.rings if task.verdict(one) in ("fits", "no range")]
    if own is None or not fit:
        return ""
    best = min(fit, key=lambda one: abs(one.ratio - own))
    places = (task.range.places if task.range else 1) + 1
    return f" Nearest on sale: {best.mandrel.words}, AR {ratio_text(best.ratio, places)}."


def _verdict_words(task: Task, ring: Wound, span: Range) -> str:
    """A verdict, with what the tolerance of the wire does to it."""
    verdict = task.verdict(ring)
    out = verdict == "fits" and any(span.verdict(end) != "fits" for end in ring.band or ())
    return verdict_in(verdict, span) + (", but not with all such wire" if out else "")


def _notes(task: Task) -> list[str]:
    """How it was found, and how far to trust it."""
    spools = list(dict.fromkeys(one.spool for one in task.rings))
    notes = []
    if task.choices and task.use and not task.range and task.inside is None:
        notes.append(
            f"the recipe states no range for {task.use.label}, so the AR of its own rings is"
            " looked for; say another with --ar '4 to 5' or --inside '5 mm'"
        )
        if task.use.known:
            notes.append(f"the weave is good to make at {task.use.known}")
    if task.choices:
        steps = listed([*dict.fromkeys(s for choice in task.choices for s in choice.steps)])
        notes.append(f"mandrels are named by {steps}; a size between them does as well")
    if task.saw:
        notes.append(
            f"sawn with a blade of {text_mm(task.saw)} mm and closed again, a ring loses"
            f" {text_mm(task.saw)} / π = {text_mm(task.saw / pi)} mm of its inside"
        )
    for spool in spools:
        if isinstance(spool, Coil):
            notes += _coil_notes(spool, task)
    if not all(isinstance(spool, Coil) for spool in spools):
        notes.append(
            "how far a metal and temper springs open is typical only, and spools of"
            " one name differ: wind one coil, measure it before it is sawn, and type what came of"
            " it for --metal: --coil '8 mm, inside 8.4 mm'"
        )
    notes.append(
        "computed for round wire laid round the mandrel by hand; wire pulled hard as it is wound"
        " springs open less"
    )
    return notes


def _wanted(task: Task) -> str:
    """What a mandrel was looked for."""
    if task.inside is not None:
        return f"an inside of {text_mm(task.inside)} mm"
    if not task.range:
        return f"AR {ratio_text(task.use.own_ratio, 2)}, as the recipe has it," if task.use else ""
    if task.range.low == task.range.high:
        return f"AR {ratio_text(task.range.low, task.range.places)}"
    return range_words(task.range)


def _exactly(choice: Choice) -> str:
    """The mandrels that give it."""
    low, below = choice.exact.low, choice.exact.below
    if below is None:
        return f"{text_mm(low)} mm and up"
    if below == low:
        return f"{text_mm(low)} mm"
    return f"{text_mm(low)} to just under {text_mm(below)} mm"


def _coil_notes(coil: Coil, task: Task) -> list[str]:
    """What the measured coil says, and what a misread one would."""
    mm = task.wire.size.mm
    widest = max(task.rings, key=lambda one: one.mandrel.mm)
    grown = ((widest.coil + mm) / (coil.inside + mm)) ** 2
    told = (
        f"by your coil, {text_mm(coil.inside)} mm inside off a mandrel of {text_mm(coil.mandrel)}"
        f" mm, the spring-back of this spool is {coil.springback(mm):.4f} (wire × (1 / wound −"
        " 1 / released), by mean diameters), on every mandrel"
    )
    wrong = (
        f"a coil read {text_mm(_MISREAD_MM)} mm wrong puts the inside off by"
        f" {text_mm(_MISREAD_MM * grown)} mm on {widest.mandrel.words}, since it grows with the"
        " square of the width"
    )
    return [told, f"{wrong}: measure a coil of about the width you need" if grown > 2 else wrong]


# -- plain data ----------------------------------------------------------------------------------


CSV_HEADS = (
    "for", "wire", "wire_mm", "wire_off_mm", "metal", "springback", "mandrel", "mandrel_mm",
    "coil_inside_mm", "saw_mm", "inside_mm", "ar", "ar_from", "ar_to", "verdict",
)  # fmt: skip


def wound_data(task: Task, ring: Wound) -> dict[str, Any]:
    """A ring wound, as plain data."""
    band = ring.band and [round(float(end), 4) for end in ring.band]
    return {
        "for": task.use.label if task.use else None,
        "wire": task.wire.size.text,
        "wire_mm": round(task.wire.size.mm, 4),
        "wire_off_mm": task.wire.off or None,
        "metal": ring.spool.words,
        "springback": round(ring.spool.springback(task.wire.size.mm), 6),
        "mandrel": ring.mandrel.text,
        "mandrel_mm": round(ring.mandrel.mm, 4),
        "coil_inside_mm": round(ring.coil, 4),
        "saw_mm": task.saw or None,
        "inside_mm": round(ring.inside, 4),
        "ar": round(float(ring.ratio), 4),
        "ar_from": band and band[0],
        "ar_to": band and band[1],
        "verdict": task.verdict(ring),
    }
