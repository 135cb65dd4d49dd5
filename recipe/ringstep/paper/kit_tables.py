"""A kit as tables, as JSON and as CSV.

Comes in: a `Kit`. Goes out: `Printed` words, or plain data.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from ringstep.language.measures import text_mm
from ringstep.language.syntax import RingKind
from ringstep.language.words import listed, plural
from ringstep.paper.bill_tables import bought_cells, bought_data, money_sheet, sum_text
from ringstep.paper.cautions import ASK, asked_words
from ringstep.paper.finger_ring import advice, comes_to, ring_size_of, round_finger
from ringstep.paper.printed import Printed, Sheet
from ringstep.paper.sample_words import computed_words, held_words, length_data, measured_words
from ringstep.paper.sentences import short_kind
from ringstep.shop.buying import Bill
from ringstep.shop.kit import Kit
from ringstep.shop.kit_length import Length
from ringstep.shop.money import money_text

#: Begins what the recipe says of how its sample was measured.
ORIGIN = "of the sample the recipe says:"


def kits_word(kit: Kit) -> str:
    """'1 kit', '8 kits'."""
    return plural(kit.wish.pieces, "kit")


def kit_intro(kit: Kit) -> str:
    """What is packed, in a sentence."""
    spares = f", with {kit.wish.spares.normalize():f} % spare rings" if kit.wish.spares else ""
    many = f"{kits_word(kit)}, each for {kit.piece}" if kit.wish.pieces > 1 else f"For {kit.piece}"
    return f"{many}{spares}."


def kit_page(kit: Kit) -> Printed:
    """Everything about a kit, ready to print."""
    length = length_words(kit)
    sheets = [Sheet("Length", notes=length)] if length else []
    sheets.append(_ring_sheet(kit))
    if kit.parts:
        sheets.append(_part_sheet(kit))
    if asked := ask_words(kit):
        sheets.append(Sheet(ASK, notes=tuple(asked)))
    if kit.bill:
        sheets.append(money_sheet(kit.things, kit.bill, _sum_words(kit, kit.bill)))
    if kit.seconds is not None and kit.wish.pace is not None:
        told = f"at {kit.wish.pace.normalize():f} seconds a ring, {plural(kit.rings, 'ring')} take"
        words = [f"{told} about {duration_words(kit.seconds)} for one piece"]
        if kit.wish.pieces > 1:
            words.append(
                f"all {kit.wish.pieces} pieces: {duration_words(kit.seconds * kit.wish.pieces)} of"
                " work; in a class everyone works one piece"
            )
        sheets.append(Sheet("Time", notes=tuple(words)))
    traced = (kit.trace,) if kit.trace else ()
    return Printed(kit.title, (kit_intro(kit), *traced), tuple(sheets))


def length_words(kit: Kit, on_paper: bool = False) -> tuple[str, ...]:
    """How the length was reached, a sentence at a time; on paper without what is to be typed."""
    length = kit.length
    if length is None:
        return (kit.unmeasured,) if kit.unmeasured else ()
    words = []
    sample = _samples(length)
    if length.wanted is not None and length.exact_units is not None:
        told = f"{round_finger(kit)}{text_mm(length.wanted)} mm wanted"
        if length.ease:
            told += f", plus {text_mm(length.ease)} mm ease"
        if length.clasp:
            told += f", less {text_mm(length.clasp)} mm for the clasp"
        if length.ease or length.clasp:
            told += f": {text_mm(length.to_weave or 0)} mm to weave"
        words.append(told)
        if length.runs:
            words.append(f"{_samples(length)}, so it takes {_runs(length)}")
            return (*words, *comes_to(kit), *_ends(kit, length, on_paper))
        rounded = abs(length.exact_units - length.units) > 1e-6
        up = f"{length.exact_units:.2f} units, rounded up to {length.units:,}" if rounded else ""
        if length.computed:
            return (*words, *_computed_words(length, *length.computed), *advice(kit))
        words.append(
            f"{sample}, so it takes {up or plural(length.units, 'unit')}, which measure"
            f" {text_mm(length.woven)} mm{_one_less(length) if up else ''}"
        )
        words += comes_to(kit)
    elif length.runs:
        words.append(f"{_samples(length)}, so the piece is {_runs(length)}")
    elif length.strands:
        words.append(f"{_samples(length)}, so {_strands(length)}")
    else:
        words.append(
            f"{sample}, so {plural(length.units, 'unit')} measure {text_mm(length.woven)} mm"
        )
    if length.held and length.measured and not length.origin:
        who = "you measured" if length.measured[0].day else "the recipe's sample is"
        mm = length.sample / length.sample_units
        words.append(held_words(length.measured[0].state or "laid flat", mm, length.held, who))
    return (*words, *_ends(kit, length, on_paper))


def _samples(length: Length) -> str:
    """What was measured of each kind of unit."""
    own = {"your" if s.day else "the recipe's" for s in length.measured}
    say = "samples say" if len(length.measured) > 1 else "sample says"
    told = measured_words(length.measured, bool(length.origin), "=")
    return f"{listed(sorted(own, reverse=True))} {say} {told}"


def _runs(length: Length) -> str:
    """The runs of a piece, and what they measure together."""
    told = listed([f"{count:,} {label}" for label, count in length.runs])
    return f"{told}, which measure {text_mm(length.woven)} mm"


def _strands(length: Length) -> str:
    """The strands of a piece, and what each measures."""
    return listed(
        [f"strand {n} of {plural(units, 'unit')} measures {text_mm(mm)} mm"
         for n, units, mm in length.strands]
    )  # fmt: skip


def _ends(kit: Kit, length: Length, on_paper: bool) -> tuple[str, ...]:
    """What comes on top of the units, and what to mind about the sample."""
    words = []
    ends = [f"the {kind} ({plural(rings, 'ring')})" for kind, rings in length.ends]
    ends += ["any clasp" if not length.clasp and kit.parts else ""]
    ends = [e for e in ends if e]
    if ends:
        verb = "come" if len(ends) > 1 else "comes"
        how = "take it off --length" if length.kind == "loop" else "put it into --clasp"
        exact = f"; measure what that adds and {how} if the length must be exact"
        words.append(
            f"the sample measures units only: {listed(ends)} {verb} on top"
            + ("" if on_paper or length.strands else exact)
        )
    if length.units != length.own_units:
        piece = f"{length.kind} {plural(length.units, 'unit')}"
        if length.runs:
            piece = f"{length.kind} of {', '.join(f'{n} {label}' for label, n in length.runs)}"
        words.append(
            f"the recipe itself has {plural(length.own_units, 'unit')}: before you print hand-outs,"
            f" write '{piece}' in its 'piece:'"
        )
    words.append("the sample belongs to the rings of the recipe; measure again for any other size")
    return (*words, *(f"{ORIGIN} {o}" for o in length.origin))


def _computed_words(length: Length, low: float, high: float) -> tuple[str, ...]:
    """How a length became units by a computed range."""
    words = [
        f"computed with rigid round rings, not measured: {computed_words(low, high)}",
        "measure a sample of your own and keep it with 'ringstep sample add'",
        f"pulled straight it takes {plural(length.least_units, 'unit')} at least, pushed together"
        f" {length.units:,} at most; the kit has rings for {length.units:,}, so that they suffice:"
        " work until the piece is long enough",
    ]
    if length.ends:
        ends = [f"the {kind} ({plural(rings, 'ring')})" for kind, rings in length.ends]
        words.append(f"what {listed(ends)} and any clasp add to the length is not in this")
    words.append("hand-outs go by the recipe's own 'piece:'; write the units into it once you know")
    return tuple(words)


def _ring_sheet(kit: Kit) -> Sheet:
    lines = kit.lines
    counts = {
        "piece": [x.rings for x in lines],
        "spares": [x.spares for x in lines],
        "kit": [x.in_kit for x in lines],
    }
    if kit.wish.pieces > 1:
        counts[kits_word(kit)] = [x.in_class for x in lines]
    wire, grams = [x.wire_mm / 1000 for x in lines], [x.grams for x in lines]
    known = [g for g in grams if g is not None]
    sizes = [ring_words(x.kind) for x in lines]
    columns = {"ring": [*(x.name for x in lines), "all"], "size": [*sizes, ""]}
    for head, each in counts.items():
        columns[head] = [f"{n:,}" for n in (*each, sum(each))]
    columns["wire a kit, m"] = [f"{metres:,.2f}" for metres in (*wire, sum(wire))]
    metal = columns["metal a kit, g"] = ["not known" if g is None else grams_text(g) for g in grams]
    metal.append(grams_text(sum(known)) if len(known) == len(lines) else "")
    if len(lines) == 1:
        columns = {head: cells[:1] for head, cells in columns.items()}  # it is the sum by itself
    return Sheet.of_columns("Rings", columns, 2, _ring_notes(kit))


def ring_words(kind: RingKind) -> str:
    """A ring to count out, in mm and as the recipe writes its sizes.

    '1.2 × 5 mm, copper', '1.02 × 3.57 mm (18 awg, 9/64 in), copper'.
    """
    size, _, rest = short_kind(kind).partition(", ")
    written = [s.text for s in (kind.wire, kind.inside) if s]
    other = any(not text.casefold().endswith("mm") for text in written)
    words = f"{size} ({', '.join(written)})" if other else size
    return f"{words}, {rest}" if rest else words


def _ring_notes(kit: Kit) -> tuple[str, ...]:
    notes = []
    whole = len(kit.lines) == 1
    for line in kit.lines:
        who = "" if whole else f"{line.name}: "
        ready = [f"{n:,} {w}" for n, w in ((line.opened, "opened"), (line.closed, "closed")) if n]
        how = f"{listed(ready)} beforehand"
        if line.kind.stays_closed:
            how = "it stays closed" if line.closed == 1 else f"all {line.closed:,} stay closed"
        out = f", of which {line.taken_out:,} come out again" if line.taken_out else ""
        notes.append(f"{who}{how} for a piece{out}")
    finished = [x.finished_grams for x in kit.lines]
    known = [g for g in finished if g is not None]
    if known:
        tail = "" if len(known) == len(finished) else ", as far as the metal is known"
        parts = ", parts not counted" if kit.parts else ""
        notes.append(f"the finished piece weighs about {grams_text(sum(known))} g{tail}{parts}")
    told = []
    for line in kit.lines:
        if d := line.density:
            note = f"; {d.note}" if d.note else ""
            told.append(f"density of {d.name}: {d.g_per_cm3:g} g/cm³ ({d.source}){note}")
        else:
            metal = line.kind.material
            why = f"no density is known for '{metal}'" if metal else "the recipe names no material"
            told.append(f"{line.name}: {why}, so its metal is left out")
    cut = kit.wish.saw_cut
    notes += dict.fromkeys(told)
    notes.append(
        "wire is π × (inside + wire) a ring"
        + (f" and {text_mm(cut)} mm saw cut" if cut else "; the saw cut is left out")
        + ", metal is that of closed round rings"
    )
    return tuple(notes)


def _part_sheet(kit: Kit) -> Sheet:
    columns = {
        "part": [p.name for p in kit.parts],
        "what it is": [p.words for p in kit.parts],
        "kit": [f"{p.count:,}" for p in kit.parts],
    }
    if kit.wish.pieces > 1:
        columns[kits_word(kit)] = [f"{p.in_class:,}" for p in kit.parts]
    return Sheet.of_columns("Parts", columns, 2)


def _one_less(length: Length) -> str:
    """What one unit fewer measures, for who would sooner have the piece a little shorter."""
    if length.units < 2:
        return ""
    fewer = length.units - 1
    mm = text_mm(fewer * length.sample / length.sample_units)
    return f"; {plural(fewer, 'unit')} would measure {mm} mm"


def _sum_words(kit: Kit, bill: Bill) -> list[str]:
    """What all kits cost together, and each of them."""
    if kit.wish.pieces == 1:
        return [f"all together: {sum_text(bill)}"]
    each = money_text(kit.cost_each, bill.currency)
    return [
        f"all {kit.wish.pieces} kits together: {sum_text(bill)}",
        f"a kit's share: {each} (rounded up to the smallest coin)",
    ]


def ask_words(*kits: Kit) -> list[str]:
    """Which declarations to ask a supplier for; empty where no metal calls for one."""
    metals = [line.kind.material for kit in kits for line in kit.lines]
    return asked_words([*metals, *(part.words for kit in kits for part in kit.parts)])


def grams_text(grams: float) -> str:
    """Grams as one says them: one decimal, below 10 g two.

    >>> grams_text(3.456), grams_text(1234.56)
    ('3.46', '1,234.6')
    """
    return f"{grams:,.1f}" if grams >= 10 else f"{grams:.2f}"


def duration_words(seconds: Decimal) -> str:
    """A time in hours and minutes, rounded up to the minute.

    >>> duration_words(Decimal(5400)), duration_words(Decimal(61)), duration_words(Decimal(7200))
    ('1 hour 30 minutes', '2 minutes', '2 hours')
    """
    minutes = int(-(-seconds // 60)) if seconds % 60 == 0 else int(seconds // 60) + 1
    hours, rest = divmod(minutes, 60)
    words = [plural(hours, "hour")] if hours else []
    words += [plural(rest, "minute")] if rest or not hours else []
    return " ".join(words)


def kit_data(kit: Kit) -> dict[str, Any]:
    """A kit as plain data; money is text, so that no digit is lost."""
    length, bill = kit.length, kit.bill
    named = bool(length and (length.runs or length.strands))
    return {
        "title": kit.title,
        "piece": kit.piece,
        "kits": kit.wish.pieces,
        "batch": kit.wish.batch or None,
        "text_mark": kit.mark or None,
        "spares_percent": str(kit.wish.spares),
        "length_mm": length
        and {
            "wanted": length.wanted, "ease": length.ease, "clasp": length.clasp,
            "to_weave": length.to_weave,
            "sample_units": None if length.computed or named else length.sample_units,
            "sample": None if length.computed or named else length.sample,
            "runs": [{"unit": label, "units": count} for label, count in length.runs],
            "strands": [
                {"strand": name, "units": count, "mm": mm} for name, count, mm in length.strands
            ],
            "samples": [
                {"unit": s.label.value if s.label else "units", "units": s.units, "mm": s.size.mm}
                for s in length.measured if named
            ],
            **length_data(length),
            "least_units": length.least_units, "units": length.units, "woven": length.woven,
            "ring_size_of_units": ring_size_of(kit, length.units),
            "ends": dict(length.ends), "sample_notes": list(length.origin),
        },
        "rings": [
            {
                "name": x.name, "kinds": list(x.names), "wire_mm": x.wire, "inside_mm": x.inside,
                "material": x.kind.material, "colour": x.kind.colour,
                "stays_closed": x.kind.stays_closed, "piece": x.rings,
                "opened": x.opened, "closed": x.closed, "taken_out": x.taken_out,
                "spares": x.spares, "kit": x.in_kit, "all_kits": x.in_class,
                "kit_wire_mm": round(x.wire_mm, 3),
                "kit_metal_g": x.grams and round(x.grams, 4),
                "piece_metal_g": x.finished_grams and round(x.finished_grams, 4),
                "density_g_cm3": x.density and x.density.g_per_cm3,
                "density_source": x.density and x.density.source,
                "buy": bought_data(x.purchase),
            }
            for x in kit.lines
        ],
        "ask_supplier_for": ask_words(kit),
        "parts": [
            {"name": p.name, "words": p.words, "kit": p.count, "all_kits": p.in_class,
             "size_mm": p.size and p.size._asdict(), "buy": bought_data(p.purchase)}
            for p in kit.parts
        ],
        "currency": bill and bill.currency,
        "cost": bill and str(bill.cost),
        "cost_a_kit": bill and str(kit.cost_each),
        "unpriced": list(bill.unpriced) if bill else [],
        "price_notes": list(bill.notes) if bill else [],
        "seconds_a_piece": None if kit.seconds is None else str(kit.seconds),
    }  # fmt: skip


CSV_HEADS = (
    "name", "what", "wire_mm", "inside_mm", "material", "colour", "piece", "spares", "kit",
    "all_kits", "kit_wire_mm", "kit_metal_g", "pack", "packs", "price", "cost", "left_over",
    "currency",
)  # fmt: skip


def kit_rows(data: dict[str, Any]) -> list[dict[str, Any]]:
    """The lines of one CSV table out of the plain data: rings first, then parts."""
    rows = []
    for what, lines in (("ring", data["rings"]), ("part", data["parts"])):
        for line in lines:
            row = {"what": what, **line, **bought_cells(line["buy"])}
            row["currency"] = data["currency"] if line["buy"] else None
            if what == "ring":
                row |= {size: text_mm(line[size]) for size in ("wire_mm", "inside_mm")}
            else:
                row |= {"material": line["words"], "piece": line["kit"], "spares": 0}
            rows.append(row)
    return rows
