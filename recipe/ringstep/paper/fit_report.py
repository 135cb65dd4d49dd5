"""What a fit has to say to a maker, its pictures and its mesh.

Comes in: a `Laid`, the `Fit` of its cell. Goes out: a `Kept`, the fit with its second look as plain
data; report lines; SVG pictures and an OBJ mesh by file name. Only making a `Kept`, pictures and
meshes loads numpy; reading a kept one does not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction

from ringstep.checks.view import View
from ringstep.language.measures import text_mm
from ringstep.language.tree import Sample
from ringstep.language.words import listed, plural
from ringstep.paper.cautions import CAUTIONS
from ringstep.paper.printed import wrapped
from ringstep.paper.sample_words import FLAT, held_words
from ringstep.paper.sentences import sentence
from ringstep.paper.size_tables import range_words
from ringstep.space.cell import Shift
from ringstep.space.fit_laid import Laid
from ringstep.space.lays import closed_walks
from ringstep.space.result import Fit, Form, PlacedRing, Pose, copies
from ringstep.weave.working_range import Range

#: Printed wherever a picture or a number of the fit is shown.
COMPUTED = "Computed from the recipe's links, lays and folds; not drawn or measured from a piece."
_JEWELLERY = next(c for c in CAUTIONS if "load-bearing" in c)
_MOST_DRAWN = 110
_TOLERANCE = 1e-5  # mm by which two wires may seem to overlap in the second look


@dataclass(frozen=True, slots=True)
class Seen:
    """The second look at one form by brute force.

    right: every link right and no wires overlapping, in all its poses. pairs: how many pairs of
    rings were looked at. gap: least distance in mm of the recipe's own wires where they have most
    room; below 0 where they do not go in.
    """

    right: bool
    pairs: int
    gap: float


@dataclass(frozen=True, slots=True)
class Kept:
    """A fit with all that is worth keeping. seen: for each form."""

    fit: Fit
    seen: tuple[Seen, ...]


def kept(fit: Fit) -> Kept:
    """Look again at every form."""
    return Kept(fit, tuple(_seen(f) for f in fit.forms))


def _seen(form: Form) -> Seen:
    from ringstep.space.recheck import recheck

    some = (form.tight, form.shown, form.stretched, form.pushed, form.hung, form.hung_by_side)
    poses = [p for p in some if p is not None]
    looks = [recheck(p, form.cell) for p in poses]
    own = tuple(replace(r, wire=r.wire / form.room) for r in form.tight.rings)
    gap = recheck(replace(form.tight, rings=own), form.cell).gap
    return Seen(all(x.right(_TOLERANCE) for x in looks), sum(x.pairs for x in looks), gap)


def remaining(fit: Fit) -> tuple[Form, ...]:
    """The forms between which nothing in the recipe decides, best first.

    Those that lie as the steps say, where any do, and of these the ones the recipe's rings fit
    into, where any do. Of forms whose links have the same signs one stands for all: the roomiest,
    or the longest where that is clearly longer, since a piece that hangs is pulled out. Beside it
    stays a near rival, whose units turn otherwise and which is about as roomy and as long.
    """
    if not fit.forms:
        return ()
    first = fit.forms[0]
    if not first.fits:
        return (first,)
    told: list[Form] = []
    fitting = [f for f in _like(fit, first) if f.fits]
    for form in fitting:
        alike = [f for f in fitting if _class(f) == _class(form)]
        longest = max(alike, key=_extent)
        best = longest if _extent(longest) > 1.02 * _extent(alike[0]) else alike[0]
        rival = next((f for f in alike if _rivals(f, best)), best)
        told += [f for f in dict.fromkeys((best, rival)) if f not in told]
    return tuple(told)


def _like(fit: Fit, one: Form) -> list[Form]:
    """The forms that agree with the steps as much as this one does."""
    return [f for f in fit.forms if (f.as_said, f.folds_kept) == (one.as_said, one.folds_kept)]


def _extent(form: Form) -> float:
    """Stretched length, or area of a sheet, of a unit; 0 where it is not known."""
    pose = form.stretched
    if pose is None:
        return 0.0
    across = pose.repeat[2] if len(pose.repeat) == 3 else 1.0
    return pose.repeat[0] * across / math.prod(form.units)


def smallest(fit: Fit, form: Form, ring: int) -> float:
    """The smallest AR found for a ring in any form whose links have the same signs."""
    alike = [f for f in _like(fit, form) if _class(f) == _class(form)]
    return min(f.smallest(ring) for f in alike)


def _told(fit: Fit, every: bool) -> tuple[Form, ...]:
    return fit.forms if every else remaining(fit)


def _rivals(one: Form, other: Form) -> bool:
    if one.turn == other.turn or "free" in (one.turn, other.turn):
        return False
    longer = _extent(one) / (_extent(other) or math.inf)
    return abs(one.room / other.room - 1) < 0.05 and abs(longer - 1) < 0.1


def _class(form: Form) -> tuple[Fraction, ...]:
    """What the signs of a form's links come to in each unit, the same for mirror images."""
    walks = closed_walks(form.cell, form.signs)
    units = math.prod(form.units)
    mirror = tuple(w if length % 2 == 0 else -w for length, w in enumerate(walks, 3))
    return tuple(Fraction(w, units) for w in min(walks, mirror))


# -- lengths -------------------------------------------------------------------------------------


def unit_length(laid: Laid, form: Form, pose: Pose) -> float:
    """Length in mm of one of the recipe's units of a chain."""
    return form.length(pose) / laid.cycle[1]


def unit_sides(laid: Laid, form: Form, pose: Pose) -> tuple[float, float]:
    """Of a sheet, how far apart in mm its units lie along a row, and its rows from one another."""
    a, b, c = pose.repeat
    across, along = form.units
    place = ((b - form.slip * a / across) / along, c / along)
    wide = math.hypot(*place)
    return wide / laid.cycle[1], abs(a / across * place[1]) / wide / laid.cycle[0]


# -- report --------------------------------------------------------------------------------------


def report(view: View, laid: Laid, made: Kept, every: bool = False) -> list[str]:
    """The report without the list of files, a string for each paragraph or row.

    With `every`, all forms found are told, not only those that remain.
    """
    fit, forms = made.fit, _told(made.fit, every)
    name = view.recipe.title or "Ring weave"
    variant = f", variant {view.chosen.name}" if view.chosen else ""
    rings = plural(len(laid.cell.rings), "ring")
    lines = [f"{name}{variant}: {rings} laid out in space ({_what(laid)})", COMPUTED]
    lines += [sentence(note) for note in (*laid.notes, *fit.notes)]
    if not fit.finished:
        lines.append("The search was broken off: this is the best so far, and it is not kept.")
    if not forms[0].as_said or not forms[0].folds_kept:
        what = "lays" if not forms[0].as_said else "folds"
        lines.append(
            f"No layout with the {what} of the steps was found: what follows has the right links"
            " and is not the weave the steps say."
        )
    if every and len(forms) > 1:
        lines.append(f"All {len(forms)} forms found, the likeliest first.")
    elif len(forms) > 1:
        lines.append(
            f"{len(forms)} forms remain. The steps do not decide between them: compare with a"
            " worked sample."
        )
    if more := len(fit.forms) - len(forms):
        lines.append(
            f"{plural(more, 'more form')} found: tighter or shorter, or not as the steps say;"
            " --all draws every one."
        )
    for number, form in enumerate(forms, 1):
        lines += ["", f"form {number} of {len(forms)}" if len(forms) > 1 else "the form found"]
        seen = made.seen[fit.forms.index(form)]
        rows = _rows(view, laid, fit, form, seen)
        lines += [wrapped(text, f"  {label:<18}", " " * 20) for label, text in rows]
    lines += [
        "",
        "Rings with the same links can also lie otherwise, and rings bend, spring and vary: work a"
        " sample before you buy. An AR that is easy to work lies well above the smallest.",
        _JEWELLERY,
    ]
    return [line if line.startswith(" ") else wrapped(line) for line in lines]


def whole_length(stretches: list[tuple[int, float, float]]) -> list[str]:
    """What the units of a piece of several sizes come to together, in a paragraph.

    stretches: of each how many units, and the least and greatest length of one in mm.
    """
    told = listed([f"{n} of {low:.2f} to {high:.2f} mm" for n, low, high in stretches])
    low, high = (sum(s[0] * s[at] for s in stretches) for at in (1, 2))
    words = (
        f"All units together: {told}, which is {low:.0f} to {high:.0f} mm, from pushed together to"
        " pulled straight. Where one size meets the"
        " next a unit may be a little longer or shorter than either."
    )
    return ["", wrapped(words)]


def _what(laid: Laid) -> str:
    rows, units = laid.cycle
    if laid.cell.dims == 0:
        return "the whole piece"
    if laid.cell.dims == 1:
        return plural(units, "unit")
    return f"{plural(rows, 'row')} of {plural(units, 'unit')}"


def _rows(view: View, laid: Laid, fit: Fit, form: Form, seen: Seen) -> list[tuple[str, str]]:
    least, own = [], []
    for ring, (what, bound) in _kinds(laid, fit).items():
        size = fit.cell.rings[ring]
        best, here = smallest(fit, form, ring), form.smallest(ring)
        drawn = f", {here:.2f} as drawn" if here > best + 0.01 else ""
        least.append(f"{what}{best:.2f}{drawn} (hard packing bound {bound})")
        own.append(f"{what}{size.aspect:.2f}")
    rows = [("smallest AR found", "; ".join(least)), ("AR of your rings", "; ".join(own))]
    if form.fits:
        rows.append(("your rings", f"fit; at best {text_mm(round(seen.gap, 3))} mm between wires"))
    else:
        rows.append(
            (
                "your rings",
                f"do not fit in this form: at best wires run {text_mm(round(-seen.gap, 3))} mm into"
                f" one another; pictures and lengths are with wires {form.at_room:.2f} times as"
                " thick",
            )
        )
    for given in view.recipe.ranges:
        whose = f"{given.name or given.variant} " if given.name or given.variant else ""
        origin = f" ({given.origin})" if given.origin else ""
        span = range_words(Range(given.low, given.high, given.origin))
        rows.append(("the recipe says", f"{whose}good to make at {span}{origin}"))
    piece = view.recipe.piece
    rows += _size_rows(piece.sample if piece else None, laid, fit, form)
    rows.append(("lies", "; ".join(_lies(laid, form))))
    rows.append(
        (
            "links",
            f"looked at again by brute force in {plural(seen.pairs, 'pair')} of rings: "
            + ("all right" if seen.right else "NOT all right; do not rely on this form"),
        )
    )
    return rows


def _kinds(laid: Laid, fit: Fit) -> dict[int, tuple[str, str]]:
    """One ring for each different size and bound, with its roles and its bound in words."""
    found: dict[tuple[float, ...], list[int]] = {}
    for ring, size in enumerate(fit.cell.rings):
        found.setdefault((size.inside, size.wire, fit.bounds[ring]), []).append(ring)
    words = {}
    for rings in found.values():
        roles = listed(list(dict.fromkeys(laid.roles[r] for r in rings)))
        by_area = " by area" if fit.bounds_by_area[rings[0]] else ""
        words[rings[0]] = (
            f"{roles} " if len(found) > 1 else "",
            f"{fit.bounds[rings[0]]:.2f}{by_area}",
        )
    return words


def _size_rows(sample: Sample | None, laid: Laid, fit: Fit, form: Form) -> list[tuple[str, str]]:
    if laid.cell.dims == 0:
        return []
    pulled, pushed = form.stretched, form.pushed
    if pulled is None or pushed is None:
        why = "no end of the range was found" if fit.finished else "not measured: broken off"
        return [("length", why)]
    if laid.cell.dims == 1:
        low, high = (unit_length(laid, form, p) for p in (pushed, pulled))
        told = f"hangs {high:.2f} mm long; {low:.2f} mm pushed together; {FLAT} it lies in between"
        rows = [("one unit", told)]
        if (own := sample) and own.day and own.size.mm:
            rows.append(
                ("your sample", held_words(own.state, own.size.mm / own.units, (low, high)))
            )
        return rows
    tube = laid.kind == "tube"
    ways = {
        "hung by an end" if tube else "hung by first row": form.hung,
        "drawn wide" if tube else "laid open": pulled,
        "hung by the side": form.hung_by_side,
        "pushed together": pushed,
    }
    if tube:
        del ways["hung by the side"]
    rows = []
    for way, pose in ways.items():
        words = "not found: the pull came to no end"
        if pose is not None:
            wide, high = unit_sides(laid, form, pose)
            words = f"rows lie {high:.2f} mm apart, a unit takes {wide:.2f} mm along them"
        rows.append((way, words))
    return rows


def _lies(laid: Laid, form: Form) -> list[str]:
    """Which class the form is: lays, folds, turn of the unit."""
    words = []
    steps = laid.cell.steps
    if any(s.side for s in steps):
        words.append("lays as the steps say" if form.as_said else "lays NOT as the steps say")
    if any(s.fold for s in steps):
        words.append("folds as the steps say" if form.folds_kept else "folds NOT as the steps say")
    if any(s.spread for s in steps) and not form.spreads_kept:
        words.append("rings spread apart close again")
    if laid.cell.dims == 0:
        return words or ["by its links alone"]
    many = math.prod(form.units)
    what = "units" if laid.cell.dims == 1 else "places"
    if form.turn == "none":
        words.append(f"{what} come round alike" + (f" after {many}" if many > 1 else ""))
    elif form.turn == "quarter":
        words.append("every unit is turned a quarter round from the one before")
    elif form.turn == "half":
        words.append("every unit is turned half round from the one before")
    else:
        degrees = abs(math.degrees(form.shown.repeat[1])) % 360
        words.append(f"every unit turns by {min(degrees, 360 - degrees):.0f}° about the chain")
    return words


# -- pictures ------------------------------------------------------------------------------------


def files(laid: Laid, made: Kept, every: bool = False) -> dict[str, bytes]:
    """Every picture and mesh of the forms that remain (or of `every` form), by file name."""
    from ringstep.space.mesh import wavefront

    found: dict[str, str] = {}
    forms = _told(made.fit, every)
    for number, form in enumerate(forms, 1):
        stem = f"form-{number}" if len(forms) > 1 else "form"
        found |= {f"{stem}-{view}.svg": svg for view, svg in form_svgs(laid, form).items()}
        found[f"{stem}.obj"] = wavefront(several(form))
    return {name: text.encode() for name, text in found.items()}


def several(form: Form) -> tuple[PlacedRing, ...]:
    """Several units of a form, as many as make a good picture."""
    return copies(form.shown, _shifts(form))


def _shifts(form: Form) -> list[Shift]:
    pose = form.shown
    outer = max(2 * r.mean_radius + r.wire for r in pose.rings)
    most = max(1, _MOST_DRAWN // len(pose.rings))
    if len(pose.repeat) == 0:
        return [()]
    if len(pose.repeat) == 2:
        count = min(most, math.ceil(6.5 * outer / pose.repeat[0]))
        return [(k,) for k in range(max(count, 2 if most > 1 else 1))]
    a, b, c = pose.repeat
    wide, tall = math.hypot(b, c), abs(a * c) / math.hypot(b, c)
    places = max(2, min(math.ceil(4.5 * outer / wide), most))
    rows = max(2, min(math.ceil(3 * outer / tall), math.ceil(most / places)))
    # rows are started so that a slanting repeat still fills an upright picture
    slant = a * b / (wide * wide)
    return [(r, p - round(r * slant)) for r in range(rows) for p in range(places)]


def form_svgs(laid: Laid, form: Form) -> dict[str, str]:
    """Several units seen from the front and from the side."""
    from ringstep.draw.angle import views
    from ringstep.draw.rings import picture

    names = list(dict.fromkeys(laid.roles))
    rings = several(form)
    kinds = [names.index(laid.roles[r.ring % len(laid.roles)]) for r in rings]
    looks = views(form.shown)
    thin = "" if form.fits else f" Wires {form.at_room:.2f} times as thick as the recipe's."
    return {
        way: picture(rings, looks[way], title=f"Seen from the {way}. {COMPUTED}{thin}", kinds=kinds)
        for way in ("front", "side")
    }
