"""From a wanted length to units of the recipe, by its measured sample or a computed range.

Comes in: a clean `View` and a `Wish`. Goes out: the same recipe with so many units, and a frozen
`Length` that says how that was reached; or `NoKit`, which says what to measure. Nothing is guessed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil

from ringstep.checks.view import View
from ringstep.language.measures import text_mm
from ringstep.language.syntax import PLACING, Size
from ringstep.language.tree import Piece, Sample
from ringstep.language.words import listed, plural
from ringstep.shop.wish import NoKit, Wish
from ringstep.weave.runs import NoRuns, run_counts, unit_mm
from ringstep.weave.strands import strand_counts


@dataclass(frozen=True, slots=True)
class Length:
    """How a length became units; mm throughout.

    wanted: None where the recipe gives units. woven: what the units measure.
    kind, own_units: the piece as the recipe has it, whose hand-outs say so many units.
    ends: rings placed by the start and the finish, whose length comes on top.
    origin: the recipe's own notes on its sample. computed: where there is no sample, the least
    and the greatest length of one unit; the sample is then one unit of the least, so that rings
    suffice. runs: of a piece worked in runs each run's name and units. The sample is then the piece
    itself. strands: of a piece in strands each one's name, units and mm. measured: the samples gone
    by. held: beside a sample, what is computed of a unit, as `computed`.
    """

    wanted: float | None
    clasp: float
    ease: float
    sample_units: int
    sample: float
    units: int
    woven: float
    ends: tuple[tuple[str, int], ...]
    origin: tuple[str, ...]
    kind: str
    own_units: int
    computed: tuple[float, float] | None = None
    runs: tuple[tuple[str, int], ...] = ()
    strands: tuple[tuple[str, int, float], ...] = ()
    measured: tuple[Sample, ...] = ()
    held: tuple[float, float] | None = None

    @property
    def to_weave(self) -> float | None:
        """What the units have to measure."""
        return None if self.wanted is None else self.wanted + self.ease - self.clasp

    @property
    def exact_units(self) -> float | None:
        """How many units that is before rounding up."""
        weave = self.to_weave
        return None if weave is None else weave / self.sample * self.sample_units

    @property
    def least_units(self) -> int:
        """How many units it takes at least, where the length of a unit is a computed range."""
        if self.computed is None or self.to_weave is None:
            return self.units
        return max(1, ceil(self.to_weave / self.computed[1] - 1e-9))


HOW_TO_MEASURE = (
    "work 10 units with these rings, lay the piece flat without pulling, measure them in mm, and"
    " add to 'piece:' the line 'sample 10 units = … mm', or keep it with 'ringstep sample add'; the"
    " sample belongs to one size of ring"
)


def how_to_measure(piece: Piece | None) -> str:
    """What to do for a sample; of a piece in runs, for each block that has none yet."""
    if piece is None or not piece.runs:
        return HOW_TO_MEASURE
    each = Counter[str]()
    for name, count in zip(piece.order, piece.runs, strict=True):
        each[name.value] += 1 if count is None else count
    lines = [
        f"'sample {min(count, 10)} {label} = … mm'"
        for label, count in each.items()
        if piece.sample_of(label) is None
    ]
    return (
        "lay what you work flat without pulling, measure it in mm, and add to 'piece:'"
        f" {listed(lines)}; a sample belongs to one size of ring"
    )


def _sample(piece: Piece | None) -> tuple[int, float] | None:
    """How many units were measured and what they came to in mm."""
    if piece is None or piece.sample is None:
        return None
    mm = piece.sample.size.mm
    return (piece.sample.units, mm) if mm and piece.sample.units else None


def _refuse_graded(view: View, word: str) -> None:
    """Stop where sizes change along the piece, and with it would not."""
    if any(kind.along for kind in view.recipe.rings):
        units = plural(view.weave.layout.units, "unit")
        raise NoKit(
            f"the sizes of this piece are given unit by unit, for {units},"
            f" so {word} cannot size it; change the units in 'rings:' and 'piece:'"
        )


def _refuse_length(view: View, word: str) -> None:
    """Stop where a length cannot change the piece."""
    layout, piece = view.weave.layout, view.recipe.piece
    if view.recipe.made:
        raise NoKit(
            f"this piece is joined of others that are made first, so {word} cannot size it; change"
            f" the size under 'piece {view.recipe.made[0].name.value}:', or how often it is made"
        )
    _refuse_graded(view, word)
    if layout.flat:
        units = piece.units if piece else layout.units  # rounds that grow are wider further on
        raise NoKit(
            f"a {layout.kind} is rows times units, so {word} cannot size it; change the line"
            f" '{layout.kind} {layout.rows} rows of {units} units' in the recipe"
        )
    if piece is not None and piece.strands:
        name = piece.strands[0].name.value
        how = f"say which strand, as in --length '{name}=200 mm'"
        if word != "--length":
            how = f"take it off the length of a strand, as in '{name} 200 mm' under 'piece:'"
        raise NoKit(f"every strand has a length of its own, so {word} cannot size the piece; {how}")
    if not layout.order and layout.written:
        raise NoKit(
            f"the recipe writes out all its {plural(layout.written, 'unit')} and has no 'unit:' to"
            f" repeat, so {word} cannot lengthen it; add a block 'unit:', or leave {word} out"
        )
    if piece is None or not layout.order:
        raise NoKit(f"this piece is made in one go and repeats no unit, so leave {word} out")


def sized(
    view: View, wish: Wish, computed: tuple[float, float] | None = None
) -> tuple[View, Length | None]:
    """The recipe with as many units as the wanted length takes, and how that was reached.

    The sample measures units only: start, finish and clasp come on top. computed: least and
    greatest mm of one unit, used where the recipe has no sample. Raises `NoKit`.
    """
    piece = view.recipe.piece
    given = [w for w, m in (("--clasp", wish.clasp), ("--ease", wish.ease)) if m]
    words = ["--length", *given] if wish.length else given
    if words:
        _refuse_length(view, words[0])
    if wish.clasp and piece and piece.kind == "loop":
        raise NoKit("a loop closes into itself and has no clasp; leave --clasp out")
    sample = _sample(piece)
    wanted_size = wish.length or (piece and piece.length)
    wanted = wanted_size.mm if wanted_size else None
    if given and wanted is None:
        raise NoKit(
            f"the recipe says how many units to work, so {given[0]} has no length to change; give"
            " one with --length"
        )
    if piece is not None and piece.strands:
        view = _with_lengths(view, piece, wish)
        return view, _of_strands(view, view.recipe.piece or piece)
    if wish.strands:
        raise NoKit(
            f"the piece has no strands, so none is called '{wish.strands[0][0]}'; write the length"
            f" alone: --length '{wish.strands[0][1].text}'"
        )
    if piece is not None and piece.runs:
        return _in_runs(view, piece, wish, wanted)
    if piece is None or (sample is None and wanted is None):
        return view, None
    held = None
    if sample is not None:
        held, computed = computed, None
    elif computed is not None:
        sample = (1, computed[0])
    else:
        raise NoKit(
            "the recipe has no sample to turn a length into units: run 'ringstep fit FILE' once,"
            f" which computes a range, or better {how_to_measure(piece)}"
        )
    clasp, ease = (m.mm if m else 0.0 for m in (wish.clasp, wish.ease))
    own = units = view.weave.layout.units
    if wanted is not None:
        weave = _to_weave(wanted, wish)
        # As the recipe's own length is turned into units.
        units = max(1, ceil(weave / sample[1] * sample[0] - 1e-9))
        if units < view.weave.layout.written:
            raise NoKit(
                f"{text_mm(weave)} mm take {plural(units, 'unit')}, and the recipe writes out"
                f" {view.weave.layout.written}; give a longer --length"
            )
        view = View(
            replace(view.recipe, piece=replace(piece, units=units, length=None)), view.troubles
        )
    length = Length(
        wanted, clasp, ease, sample[0], sample[1], units, units * sample[1] / sample[0],
        rings_of_ends(view), _origin(view, [piece.sample]), piece.kind, own, computed,
        measured=(piece.sample,) if piece.sample else (), held=held,
    )  # fmt: skip
    return view, length


def _to_weave(wanted: float, wish: Wish) -> float:
    """How many mm the units have to measure. Raises `NoKit`."""
    clasp, ease = (m.mm if m else 0.0 for m in (wish.clasp, wish.ease))
    if wanted + ease <= clasp:
        raise NoKit(
            f"the clasp ({text_mm(clasp)} mm) leaves nothing to weave of"
            f" {text_mm(wanted + ease)} mm; give a longer --length"
        )
    return wanted + ease - clasp


def _left_open(piece: Piece) -> tuple[int | None, ...]:
    """The runs with those of the most units left to fill a length: all of that name, if alike."""
    counts = [1 if n is None else n for n in piece.runs]
    names = [s.value for s in piece.order]
    most = names[counts.index(max(counts))]
    alike = {n for n, name in zip(counts, names, strict=True) if name == most}
    if len(alike) > 1:
        raise NoKit(
            f"the runs of {most} are unlike, so it is not known which of them a length changes;"
            f" write '{piece.kind} … mm of' and the runs, without a number those that share it"
        )
    return tuple(None if name == most else n for n, name in zip(counts, names, strict=True))


def _in_runs(
    view: View, piece: Piece, wish: Wish, wanted: float | None
) -> tuple[View, Length | None]:
    """The same of a piece in runs, each block of which has its own sample. Raises `NoKit`."""
    labels = tuple(dict.fromkeys(s.value for s in piece.order))
    own = view.weave.layout.units
    if wanted is not None:
        mm = Fraction(_to_weave(wanted, wish)).limit_denominator(10**6)
        size = Size(mm, "mm", piece.span, f"{text_mm(float(mm))} mm")
        written = _left_open(piece) if piece.units is None and piece.length is None else piece.runs
        piece = replace(piece, runs=written, units=None, length=size)
    try:
        counts = run_counts(piece)
        long = {label: unit_mm(piece, label) for label in labels}
    except NoRuns as fault:
        if wanted is None:
            return view, None
        raise NoKit(f"{fault}; {'; '.join(fault.help)}") from None
    runs = tuple(zip((s.value for s in piece.order), counts, strict=True))
    view = View(
        replace(view.recipe, piece=replace(piece, runs=tuple(counts), units=None, length=None)),
        view.troubles,
    )
    measured = tuple(s for label in labels if (s := piece.sample_of(label)))
    woven = sum(count * long[label] for label, count in runs)
    clasp, ease = (m.mm if m else 0.0 for m in (wish.clasp, wish.ease))
    return view, Length(
        wanted, clasp, ease, sum(counts), woven, sum(counts), woven, rings_of_ends(view),
        _origin(view, measured), piece.kind, own, runs=runs, measured=measured,
    )  # fmt: skip


def _with_lengths(view: View, piece: Piece, wish: Wish) -> View:
    """The recipe with other lengths for some of its strands. Raises `NoKit`."""
    names = [s.name.value for s in piece.strands]
    wanted = dict(wish.strands)
    for name in wanted:
        if name not in names:
            raise NoKit(f"no strand is called '{name}'; the piece has {listed(names)}")
    if not wanted:
        return view
    _refuse_graded(view, "--length")
    strands = []
    for strand in piece.strands:
        if size := wanted.get(strand.name.value):
            mm = Fraction(size.mm).limit_denominator(10**6)
            length = Size(mm, "mm", strand.name.span, f"{text_mm(size.mm)} mm")
            strand = replace(strand, units=None, length=length)
        strands.append(strand)
    made = replace(piece, strands=tuple(strands))
    try:
        strand_counts(made)
    except NoRuns as fault:
        raise NoKit(f"{fault}; {'; '.join(fault.help)}") from None
    return View(replace(view.recipe, piece=made), view.troubles)


def _of_strands(view: View, piece: Piece) -> Length | None:
    """How long each strand becomes; None where not all are measured. Raises `NoKit`."""
    try:
        counts = strand_counts(piece)
    except NoRuns as fault:
        raise NoKit(f"{fault}; {'; '.join(fault.help)}") from None
    names = [s.name.value for s in piece.strands]
    found = [piece.sample_of(name) or piece.sample for name in names]
    if not all(s and s.units and s.size.mm for s in found):
        return None
    measured = tuple({(s.label and s.label.value): s for s in found if s}.values())
    long = [n * (s.size.mm or 0.0) / s.units for n, s in zip(counts, found, strict=True) if s]
    units, woven = sum(counts), sum(long)
    return Length(
        None, 0.0, 0.0, units, woven, units, woven, rings_of_ends(view),
        _origin(view, measured), piece.kind, units, measured=measured,
        strands=tuple(zip(names, counts, long, strict=True)),
    )  # fmt: skip


def _origin(view: View, samples: Iterable[Sample | None]) -> tuple[str, ...]:
    """The recipe's own notes on its samples, where one of them is gone by."""
    if not any(s is not None and not s.day for s in samples):
        return ()
    return tuple(n.text for n in view.recipe.notes if n.topic == "sample")


def rings_of_ends(view: View) -> tuple[tuple[str, int], ...]:
    """Rings that the start and the finish place."""
    parts = view.recipe.part_roles
    found = Counter[str]()
    for block in view.recipe.blocks:
        if block.kind in ("start", "finish"):
            for step in block.steps:
                for item in step.new if step.kind in PLACING else ():
                    if item.name.role not in parts:
                        found[block.kind] += len(item.indexes)
    return tuple((kind, found[kind]) for kind in ("start", "finish") if found[kind])
