"""What was measured of a clean recipe, in a line or two."""

from __future__ import annotations

from collections import Counter

from ringstep.checks.view import View
from ringstep.language.measures import text_mm
from ringstep.language.size_sets import set_names
from ringstep.language.syntax import Block, Size
from ringstep.language.tree import Made
from ringstep.language.words import listed, plural
from ringstep.weave.layout import refs_of
from ringstep.weave.phrases import meets_phrase, number_word
from ringstep.weave.promises import held_alike
from ringstep.weave.repeats import Periods, period_of
from ringstep.weave.runs import run_counts, unit_mm
from ringstep.weave.strands import strand_mm

#: With more roles than these the summary does not list what each meets.
MOST_ROLES = 6


def finished_facts(view: View) -> dict[str, list[Counter[str]]]:
    """For each role, the different neighbourhoods its finished rings have."""
    parts = (part.name.role for part in view.recipe.parts)
    placed = dict.fromkeys((*view.weave.names, *parts))
    found: dict[str, list[Counter[str]]] = {role: [] for role in placed}
    for role, _, met in view.weave.neighbourhoods:
        if met not in found[role]:
            found[role].append(met)
    return {role: mets for role, mets in found.items() if mets}


def placed_once(view: View) -> frozenset[str]:
    """The roles, parts among them, of which the whole piece has a single one."""
    often: Counter[str] = Counter()
    for (role, _), count in view.weave.counts.placed().items():
        often[role] += count
    return frozenset(role for role, count in often.items() if count == 1)


def the_one(role: str) -> str:
    """The single ring of a role, as one says it.

    >>> the_one("clasp"), the_one("F")
    ('the clasp', 'F')
    """
    return role if len(role) == 1 else f"the {role}"


def unit_rings(view: View) -> int | None:
    """How many rings one unit places, parts aside; None where units differ or nothing repeats."""
    weave = view.weave
    parts = view.recipe.part_roles
    if weave.repeat is None:
        return None
    sizes = Counter((c.row, c.unit) for c in weave.repeat.classes if c.role not in parts)
    return next(iter(sizes.values())) if len(set(sizes.values())) == 1 else None


def piece_words(view: View) -> str:
    """The piece in a few words: 'a chain of 24 units', 'a sheet of 8 rows of 12 units'."""
    size = view.recipe.size
    return f"{_piece_words(view)}, in size {size}" if size else _piece_words(view)


def _piece_words(view: View) -> str:
    layout, piece = view.weave.layout, view.recipe.piece
    if view.recipe.made:
        told = [
            f"{made_words(made)}, {'each ' * (made.times > 1)}{alone_words(own)}"
            for made, own in zip(view.recipe.made, view.pieces, strict=True)
        ]
        return f"a piece joined of {'; and of '.join(told)}"
    if piece and piece.strands:
        each = listed(strand_words(view))
        return f"{plural(len(piece.strands), 'strand')}: {each}"
    if layout.flat:
        chain = ", which is a chain" if layout.kind == "sheet" and layout.rows == 1 else ""
        rows, units = plural(layout.rows, "row"), plural(layout.units, "unit")
        if layout.shape:
            low, high = min(layout.shape.widths), max(layout.shape.widths)
            units = f"{low:,} to {high:,} units" if low < high else plural(low, "unit")
            # a disc or a ball: nobody would call it a tube
            first = f"{rows} in the round" if layout.rounds else f"a {layout.kind} of {rows}"
            return f"{first} of {units}, {plural(layout.places, 'place')} in all"
        return f"a {layout.kind} of {rows} of {units}{chain}"
    if not layout.known:
        return f"a {layout.kind} of {piece.length.text}" if piece and piece.length else "a piece"
    if layout.units == 0:
        return "a piece made in one go"
    return f"a {layout.kind} of {plural(layout.units, 'unit')}"


def sampled_blocks(view: View, label: str) -> list[Block]:
    """The blocks whose units a sample measures: those of a name, or all for ""."""
    kinds = ("row", "first row", "last row") if view.weave.layout.flat else ("unit",)
    blocks = [b for b in view.recipe.blocks if b.kind in kinds]
    if not label:
        return blocks
    return [b for b in blocks if b.label == label] or [b for b in blocks if b.label is None]


def woven_mm(view: View) -> float | None:
    """What the units of a piece measure by its samples, in mm; None where they do not tell."""
    piece, layout = view.recipe.piece, view.weave.layout
    if piece is None or piece.strands or not layout.known:
        return None
    if piece.runs:
        if not all(piece.sample_of(s.value) for s in piece.order):
            return None
        runs = zip(piece.order, run_counts(piece), strict=True)
        return sum(count * unit_mm(piece, s.value) for s, count in runs)
    sample = piece.sample
    mm = sample.size.mm if sample else None
    return layout.units * mm / sample.units if sample and mm and sample.units else None


def wanted_words(mm: float, wanted: Size | None) -> str:
    """How long something becomes, beside what was asked for: 'about 191.2 mm (190 mm wanted)'.

    Units are whole, so a piece is as long as was asked for or longer.
    """
    other = wanted and wanted.mm is not None and text_mm(mm) != text_mm(wanted.mm)
    told = f"about {text_mm(mm)} mm"
    return f"{told} ({wanted.text} wanted)" if wanted and other else told


def long_piece_words(view: View) -> str:
    """The piece in a few words, with the length that comes out where one was asked for."""
    mm, piece = woven_mm(view), view.recipe.piece
    if mm is None or piece is None or piece.length is None:
        return piece_words(view)
    return f"{piece_words(view)}, {wanted_words(mm, piece.length)}"


def made_words(made: Made) -> str:
    """A piece that is made first with how many of it: '6 panels', 'the strap'."""
    name = made.name.value
    return plural(made.times, name) if made.times > 1 else f"the {name}"


def alone_words(view: View) -> str:
    """A piece that is made first in a few words: 'a chain of 5 units', 'made in one go'."""
    return long_piece_words(view).removeprefix("a piece ")


def strand_words(view: View) -> list[str]:
    """Each strand with its units, or with its length where that is not known in units."""
    layout, piece = view.weave.layout, view.recipe.piece
    assert piece is not None
    told = []
    for strand in piece.strands:
        own = next((s for s in layout.along if s.strand == strand.name.value), None)
        size = plural(own.count if own else 0, "unit")
        if not layout.known and strand.length:
            size = strand.length.text
        elif strand.length and own and (mm := strand_mm(piece, strand.name.value, own.count)):
            size += f" ({text_mm(mm)} mm)"
        told.append(f"{strand.name.value} of {size}")
    return told


def repeat_words(view: View, periods: Periods) -> str:
    """After how much the piece comes round: 'every unit', 'every unit and every two rows'.

    Rows are told where several kinds of them take turns.
    """
    units, rows = periods.piece, periods.rows
    told = "every unit" if units == 1 else f"every {number_word(units)} units"
    if len(view.weave.layout.row_order) > 1:
        told += f" and every {number_word(rows)} rows" if rows > 1 else " and row"
    changing = ["shape"] if view.weave.layout.shape else []
    changing += ["colours"] if view.weave.colours else []
    changing += ["sizes"] if any(kind.along for kind in view.recipe.rings) else []
    return f"{told}, but for its {listed(changing)}" if changing else told


def _met_words(view: View) -> str:
    """What the finished rings meet; where there are many roles, how many keep their promise."""
    weave, facts = view.weave, finished_facts(view)
    if len(facts) > MOST_ROLES:
        kept = {r for r, i, _ in weave.neighbourhoods if weave.promise(r, i)}
        others = facts.keys() - kept - view.recipe.part_roles
        of_all = f" of {len(kept | others)}" if others else ""
        words = f"{len(kept)}{of_all} roles keep their promises"
        return words.replace("1 roles keep their", "1 role keeps its") if kept else ""
    many, single = [], []
    alone = placed_once(view)
    for role, found in facts.items():
        held = held_alike(weave, role) if not any(found) else []
        says = held[0] if held else f"meets {_either(found)}"
        if role in alone:
            single.append(f"{the_one(role)} {says}")
        else:
            many.append(f"{role} {says}")
    told = [f"every finished {listed(many)}"] if many else []
    return "; ".join([*told, *([listed(single)] if single else [])])


def colour_words(view: View) -> str:
    """How many rings the picture has of each colour: '90 grey, 36 red'."""
    colours = view.weave.colours
    if colours is None:
        return ""
    used = ((colours.placed[letter], line.words) for letter, line in colours.key.items())
    return ", ".join(f"{count:,} {words}" for count, words in used if count)


def outside_words(view: View) -> str:
    """The rings that the picture does not reach, which keep their own colour; "" for none."""
    left = [lot for lot in view.weave.lots if lot.kind and not lot.letter]
    told = [f"{lot.placed:,} {view.weave.bought_name(lot.role, lot.index)}" for lot in left]
    return f"outside the picture, in their own colour: {listed(told)}" if told else ""


def _either(found: list[Counter[str]]) -> str:
    """'2 A or 4 A'; 'either 2 A and 2 B, or 2 A and 1 focal'."""
    words = [meets_phrase(met) for met in found]
    if len(words) > 1 and any(" and " in w for w in words):
        return f"either {', or '.join(words)}"
    return listed(words, "or")


def slants(view: View) -> bool:
    """True for a sheet whose rows each hang to one side of the row above, and whose outline is
    given neither by 'rows back and forth' nor by 'shape:'."""
    piece, layout = view.recipe.piece, view.weave.layout
    if piece is None or layout.kind != "sheet" or layout.rows < 2 or piece.back_and_forth:
        return False
    refs = [r for b in layout.row_order for s in b.steps for r in refs_of(s) if "above" in r.places]
    aside = sum(r.places.count("next") - r.places.count("prev") for r in refs)
    return not layout.shape and aside != 0


def summary_lines(view: View) -> tuple[str, ...]:
    """What a maker wants to read under 'checks clean'."""
    if not view.recipe.every_block:
        return ()
    steps = len(view.recipe.every_step())
    first = f"{plural(steps, 'step')}, {long_piece_words(view)}"
    if size := unit_rings(view):
        first += f", {plural(size, 'ring')} a unit"
    lines = [first]
    if met := _met_words(view):
        lines.append(met)
    if slants(view):
        lines.append(
            "its sides slant, since every row is worked the same way; 'rows back and forth' makes"
            " them upright"
        )
    if names := set_names(view.recipe):
        lines.append(f"sizes {listed(list(names))}, each of them judged")
    if colours := colour_words(view):
        outside = f"; {words}" if (words := outside_words(view)) else ""
        lines.append(f"the picture has {colours}{outside}")
    periods = [(m.variant, period_of(m)) for m in view.weaves]
    for made, each in zip(view.recipe.made, view.pieces, strict=True):
        if (own := period_of(each.weave)) is not None:
            lines.append(f"the {made.name.value} repeats {repeat_words(each, own)}")
    told = []
    for variant, p in periods:
        if p is not None:
            who = f"{variant.name}: " if variant else "the piece "
            told.append(
                f"{who}repeats {repeat_words(view, p)}"
                + (" (its links alone every unit)" if p.links == 1 and p.piece > 1 else "")
            )
    if told:
        lines.append("; ".join(told))
    return tuple(lines)
