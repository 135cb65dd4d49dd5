"""A lesson as tables and as plain data: what to prepare, how long it takes, what it costs.

Comes in: a `Lesson` with its `View`. Goes out: `Printed` words, or plain data.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Any

from ringstep.checks.view import View
from ringstep.language.syntax import Step
from ringstep.language.words import listed, plural
from ringstep.paper.cautions import CAUTIONS
from ringstep.paper.kit_tables import (
    ORIGIN,
    duration_words,
    kit_data,
    kit_intro,
    length_words,
    ring_words,
)
from ringstep.paper.printed import Printed, Sheet
from ringstep.paper.steps_text import step_list
from ringstep.shop.buying import Bill
from ringstep.shop.kit import Kit, KitLine, PartLine
from ringstep.shop.lesson import Lesson, Slot, StepTime, clock
from ringstep.shop.lesson_price import Priced
from ringstep.shop.lesson_wish import Worth
from ringstep.shop.money import amount_text
from ringstep.shop.weighing import Weighing, weighing

PREPARE, ONE_PIECE, TIMETABLE = "Prepare", "One piece", "Timetable"


def lesson_page(
    view: View, lesson: Lesson, worth: Worth, priced: Priced | None, scale: Decimal
) -> Printed:
    """Everything about a lesson, ready to print. view: of as many units as the kit is for."""
    kit = lesson.kit
    sheets = [_prepare(kit, scale), _steps(view, lesson)]
    if lesson.timetable:
        sheets.append(_timetable(lesson))
    if priced is not None and kit.bill is not None:
        sheets.append(_money(kit, kit.bill, worth, priced))
    told = length_words(kit, on_paper=True) if kit.length else ()
    told = (*told[:2], *(w for w in told[2:] if w.startswith(ORIGIN)))
    length = " ".join(f"{w[0].upper()}{w[1:].removesuffix('.')}." for w in told)
    intro = tuple(filter(None, (kit_intro(kit), kit.trace, length)))
    sheets.append(Sheet("Cautions", notes=CAUTIONS))
    return Printed(kit.title, intro, tuple(sheets))


# -- what to prepare -----------------------------------------------------------------------------


def _things(kit: Kit) -> tuple[KitLine | PartLine, ...]:
    """Rings and parts alike."""
    return (*kit.lines, *kit.parts)


def _prepare(kit: Kit, scale: Decimal) -> Sheet:
    """What to open, close, count out and weigh."""
    pieces = kit.wish.pieces
    weighed = [weighing(line, scale) for line in kit.lines]
    things = _things(kit)
    blank = [""] * len(kit.parts)
    columns = {
        "ring or part" if kit.parts else "ring": [x.name for x in things],
        "what it is": [*(ring_words(x.kind) for x in kit.lines), *(p.words for p in kit.parts)],
        "open in all": [*(_many(x.opened * pieces) for x in kit.lines), *blank],
        "close in all": [
            *("" if x.kind.stays_closed else _many(x.closed * pieces) for x in kit.lines), *blank
        ],
        "a bag": [*(_many(x.in_kit) for x in kit.lines), *(_many(p.count) for p in kit.parts)],
        "all bags": [_many(x.in_class) for x in things],
        "a bag reads, g": ["not known" if w is None else f"{w.reads:f}" for w in weighed] + blank,
    }  # fmt: skip
    return Sheet.of_columns(PREPARE, columns, 2, _prepare_notes(kit, weighed, scale))


def _many(count: int) -> str:
    return f"{count:,}" if count else ""


def _prepare_notes(kit: Kit, weighed: Iterable[Weighing | None], scale: Decimal) -> Iterator[str]:
    whole = len(kit.lines) == 1
    for line, bag in zip(kit.lines, weighed, strict=True):
        who = "" if whole else f"{line.name}: "
        if bag is not None:
            yield who + _scale_words(line, bag, scale)
        if line.kind.stays_closed:
            yield f"{who}the rings stay closed"
    if kit.wish.spares:
        yield "spare rings are in the bags and not among those to open or close"
    if any(w is not None for w in weighed):
        metals = {x.density.name: x.density.g_per_cm3 for x in kit.lines if x.density}
        told = listed([f"{name} {grams:g} g/cm³" for name, grams in metals.items()])
        yield (
            f"weights are computed for closed round rings of the sizes written, bag not counted"
            f" ({told}); weigh some counted rings of your own before you trust them"
        )


def _scale_words(line: KitLine, bag: Weighing, scale: Decimal) -> str:
    """How far the count in a bag can be told by a scale."""
    told = f"{line.in_kit:,} weigh {bag.bag:.2f} g, one {bag.one:.4f} g"
    shows = f"a scale that reads {scale:f} g"
    if bag.apart == 1:
        shows += " tells each ring"
    else:
        shows += f" tells counts apart that differ by {bag.apart:,} rings, and not by fewer"
    thick = f"; wire 1 % thicker weighs as {bag.off:.1f} rings more" if bag.off >= 0.1 else ""
    return f"{told}; {shows}{thick}"


# -- how long it takes ---------------------------------------------------------------------------


def _minutes(seconds: Decimal | None) -> str:
    """Minutes with one decimal, halves up."""
    if seconds is None:
        return ""
    return f"{(seconds / 60).quantize(Decimal('0.1'), ROUND_HALF_UP):,f}"


def _typed(view: View, step: Step) -> str:
    """What a step does to which rings, as the recipe has it: 'add 2 A', 'fold back B'."""
    span = step.span
    typed = view.recipe.source.plain[span.line - 1][span.column - 1 : span.end - 1]
    return typed.partition(" through ")[0]


def _groups(view: View, lesson: Lesson) -> Iterator[tuple[str, list[StepTime]]]:
    """Each section that has steps, with their times."""
    times = {step.number: step for step in lesson.steps}
    for sheet in step_list(view).sections:
        found = [times[s.number] for s in sheet.steps if s.number in times]
        if found:
            yield sheet.heading, found


def _steps(view: View, lesson: Lesson) -> Sheet:
    """Every section and every step with its rings and, where there is a pace, its minutes."""
    typed = {s.number: _typed(view, s) for s in view.recipe.every_step()}
    rows: list[tuple[str, ...]] = []
    for heading, steps in _groups(view, lesson):
        own = [s.seconds for s in steps if s.seconds is not None]
        whole = sum(own, Decimal(0)) if own else None
        rows.append((heading, "", "", f"{sum(s.rings for s in steps):,}", _minutes(whole)))
        rows += [
            (f"  {s.number}", typed[s.number], f"{s.times:,}", _many(s.rings), _minutes(s.seconds))
            for s in steps
        ]
    rows.append(("all", "", "", f"{lesson.kit.rings:,}", _minutes(lesson.seconds)))
    heads: tuple[str, ...] = ("section, step", "what", "times", "rings", "minutes")
    if lesson.seconds is None:
        heads, rows = heads[:-1], [row[:-1] for row in rows]
    numbers = frozenset(range(2, len(heads)))
    return Sheet(ONE_PIECE, heads, tuple(rows), numbers, tuple(_time_notes(lesson)))


def _time_notes(lesson: Lesson) -> Iterator[str]:
    if lesson.seconds is None:
        yield (
            "no pace is given, so no times are told: time yourself over some rings, and type your"
            " own seconds a ring, --pace 20"
        )
        return
    pace = lesson.wish.pace
    told = [f"{pace.ring.normalize():f} seconds a ring"] if pace.ring is not None else []
    told += [f"{s.normalize():f} seconds a ring at '{kind}'" for kind, s in pace.kinds.items()]
    yield f"the pace is your own: {listed(told)}"
    if lesson.untimed:
        kinds = listed([f"'{kind}'" for kind in lesson.untimed])
        yield f"steps {kinds} have no pace and take no time here: --pace '{lesson.untimed[0]}=5'"
    yield f"one piece takes about {duration_words(lesson.seconds)} of work; minutes are rounded"


_WHAT = {"set-up": "set-up", "work": "work", "break": "break", "closing": "closing time"}


def _timetable(lesson: Lesson) -> Sheet:
    wish, slots = lesson.wish, lesson.timetable
    ends = [slot.rings[1] if slot.rings else None for slot in slots]
    columns = {
        "from": [clock(wish, slot.first) for slot in slots],
        "to": [clock(wish, slot.last) for slot in slots],
        "what": [_WHAT[slot.what] for slot in slots],
        "minutes": [f"{slot.last - slot.first:,}" for slot in slots],
        "rings": [_span(slot) for slot in slots],
        "done by then": ["" if n is None else f"{n:,} of {lesson.kit.rings:,}" for n in ends],
    }
    long = slots[-1].last
    notes = [f"from the beginning to the end: {duration_words(Decimal(60 * long))}"]
    if wish.begin is None:
        notes.append("hours and minutes from the beginning: --begin 18:30 tells them by the clock")
    if wish.pace:
        notes.append("everyone works one piece; who is slower than the pace needs longer")
    return Sheet.of_columns(TIMETABLE, columns, 3, notes)


def _span(slot: Slot) -> str:
    """The rings of a stretch of work: '1 to 38'."""
    if slot.rings is None or slot.rings[1] < slot.rings[0]:
        return ""
    first, last = slot.rings
    return f"{first:,} to {last:,}" if first < last else f"{first:,}"


# -- what it costs -------------------------------------------------------------------------------


def _exact(amount: Fraction, currency: str) -> str:
    """An amount as it is, where that takes more than four decimals marked as cut off."""
    tenths = amount * 10_000
    cut = Decimal(tenths.numerator // tenths.denominator).scaleb(-4)
    whole = tenths.denominator == 1
    told = amount_text(cut.normalize() if whole else cut, currency)
    return told if whole else f"{told}…"


def _money(kit: Kit, bill: Bill, worth: Worth, priced: Priced) -> Sheet:
    """Every sum in a line of its own, so that it can be followed."""
    coin, pieces = bill.currency, kit.wish.pieces
    kits = plural(pieces, "kit")
    rows = []
    for line in _things(kit):
        for x in line.purchase.kinds if line.purchase else ():
            packs = f"{plural(x.packs, 'pack')} of {x.pack:,} × {amount_text(x.price, coin)}"
            rows.append((line.name, packs, amount_text(x.cost, coin)))
    rows.append((f"material, {kits}", "whole packs as they are bought",
                 amount_text(priced.material, coin)))  # fmt: skip
    if priced.work is not None and worth.hours is not None and worth.rate is not None:
        told = f"{worth.hours.normalize():f} hours × {amount_text(worth.rate, coin)}"
        rows.append((f"your work, {kits}", told, amount_text(priced.work, coin)))
        rows.append(("cost", "material and work", amount_text(priced.cost, coin)))
    divided = f"{amount_text(priced.cost, coin)} / {pieces:,}"
    rows.append(("cost a kit", divided, _exact(priced.each, coin)))
    notes = []
    if priced.wanted is not None and priced.price is not None and priced.left is not None:
        rows += _price_rows(pieces, coin, worth, priced)
    elif worth.margin is not None:
        notes.append("no price is made, since the cost is not the whole of it")
    notes += bill.notes
    if bill.unpriced:
        verb = "has" if len(bill.unpriced) == 1 else "have"
        notes.append(f"{listed(bill.unpriced)} {verb} no price in the list, so the cost is too low")
    if priced.work is None:
        notes.append("your own work is not in it: --hours 3.5 --rate 25 add it")
    if priced.price is not None:
        notes.append("taxes, fees, room and post are not in it")
    heads = ("what", "how", f"amount, {coin}")
    return Sheet("Cost and price", heads, tuple(rows), frozenset({2}), tuple(notes))


def _price_rows(
    pieces: int, coin: str, worth: Worth, priced: Priced
) -> Iterator[tuple[str, str, str]]:
    percent, wanted = worth.margin or Decimal(0), priced.wanted or Fraction(0)
    part = percent / 100
    price, left = priced.price or Decimal(0), priced.left or Decimal(0)
    told = f"{percent.normalize():f} %"
    how = f"{_exact(priced.each, coin)} × {(1 + part).normalize():f}: {told} of the cost on top"
    if worth.of_price:
        how = f"{_exact(priced.each, coin)} / {(1 - part).normalize():f}: {told} of the price stay"
    yield "with the margin", how, _exact(wanted, coin)
    up = f"rounded up to a multiple of {amount_text(priced.step, coin)}"
    yield "price of a kit", up, amount_text(price, coin)
    if price:
        stays = Decimal(100) * left / (price * pieces)
        of = f"{stays.quantize(Decimal('0.1'), ROUND_HALF_UP):f} % of the price"
        how = f"{pieces:,} × {amount_text(price, coin)} less {amount_text(priced.cost, coin)}: {of}"
        yield f"stays of {plural(pieces, 'kit')}", how, amount_text(left, coin)


# -- as data -------------------------------------------------------------------------------------


def lesson_data(
    view: View, lesson: Lesson, worth: Worth, priced: Priced | None, scale: Decimal
) -> dict[str, Any]:
    """A lesson as plain data; money and seconds are text, so that no digit is lost."""
    kit, wish = lesson.kit, lesson.wish
    pieces = kit.wish.pieces

    def text(number: Decimal | None) -> str | None:
        return None if number is None else f"{number:f}"

    prepare = []
    for line in kit.lines:
        bag = weighing(line, scale)
        prepare.append(
            {
                "name": line.name, "opened": line.opened * pieces, "closed": line.closed * pieces,
                "stays_closed": line.kind.stays_closed, "bag": line.in_kit,
                "all_bags": line.in_class, "ring_g": bag and round(bag.one, 6),
                "bag_g": bag and round(bag.bag, 4), "scale_reads_g": bag and f"{bag.reads:f}",
                "rings_told_apart": bag and bag.apart,
                "rings_off_a_percent_of_wire": bag and round(bag.off, 3),
            }
        )  # fmt: skip
    return {
        "kit": kit_data(kit),
        "scale_g": text(scale),
        "prepare": prepare,
        "pace": {"ring": text(wish.pace.ring),
                 "kinds": {kind: text(s) for kind, s in wish.pace.kinds.items()}},
        "sections": [
            {
                "section": heading,
                "steps": [
                    {"step": s.number, "kind": s.kind, "times": s.times, "rings": s.rings,
                     "seconds": text(s.seconds)} for s in steps
                ],
            }
            for heading, steps in _groups(view, lesson)
        ],
        "seconds": text(lesson.seconds),
        "untimed": list(lesson.untimed),
        "timetable": [
            {
                "what": slot.what, "first_minute": slot.first, "last_minute": slot.last,
                "from": None if wish.begin is None else clock(wish, slot.first),
                "to": None if wish.begin is None else clock(wish, slot.last),
                "first_ring": slot.rings and slot.rings[0],
                "rings_done": slot.rings and slot.rings[1],
            }
            for slot in lesson.timetable
        ],
        "price": priced and {
            "currency": kit.bill and kit.bill.currency,
            "material": text(priced.material), "work": text(priced.work),
            "cost": text(priced.cost), "margin_percent": text(worth.margin),
            "margin_of": None if worth.margin is None else "price" if worth.of_price else "cost",
            "price": text(priced.price), "left": text(priced.left),
        },
    }  # fmt: skip
