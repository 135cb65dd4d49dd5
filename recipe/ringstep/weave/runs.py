"""How many units each run of a piece gets: 'chain 190 mm of byz, centre, byz'.

Comes in: the `Piece` as written. Goes out: a number for each run, or `NoRuns`, which says why there
is none and what to type. Runs without a number share what the others leave, evenly: all those whose
name stands more than once, or the only one there is; any other is worked once.
"""

from __future__ import annotations

from collections import Counter
from math import ceil

from ringstep.language.measures import text_mm
from ringstep.language.source import Refused
from ringstep.language.tree import Piece
from ringstep.language.words import listed, plural


class NoRuns(Refused):
    """Runs that do not come to numbers; `help` is what to type."""

    def __init__(self, message: str, *help: str) -> None:
        super().__init__(message)
        self.help = help


def run_counts(piece: Piece) -> list[int]:
    """A number of units for each run. Raises `NoRuns`."""
    if piece.units is None and piece.length is None:
        return [1 if n is None else n for n in piece.runs]
    sharing = _sharing(piece)
    counts = [1 if n is None else n for n in piece.runs]
    labels = [s.value for s in piece.order]
    alone = [at for at in range(len(counts)) if at not in sharing]
    if piece.units is not None:
        left = piece.units - sum(counts[at] for at in alone)
        each, over = divmod(left, len(sharing))
        if over or each < 1:
            low = piece.units - left + max(each, 1) * len(sharing)
            fits = [low] if each < 1 else [low, low + len(sharing)]
            runs = plural(len(sharing), "run")
            names = listed(list(dict.fromkeys(labels[at] for at in sorted(sharing))))
            raise NoRuns(
                f"of {plural(piece.units, 'unit')} {left} are left for {runs} of {names}"
                + (", which share evenly" if len(sharing) > 1 else ""),
                "write " + " or ".join(f"'{piece.kind} {n} units of …'" for n in fits),
            )
    else:
        mm = {label: unit_mm(piece, label) for label in labels}
        wanted = (piece.length.mm if piece.length else None) or 0.0
        left_mm = wanted - sum(counts[at] * mm[labels[at]] for at in alone)
        if left_mm <= 0:
            raise NoRuns(
                f"{text_mm(wanted)} mm are too short for what stands beside the runs that share it",
                "give a greater length, or fewer units",
            )
        each = max(1, ceil(left_mm / sum(mm[labels[at]] for at in sharing) - 1e-9))
    return [each if at in sharing else count for at, count in enumerate(counts)]


def counts_for_now(piece: Piece, room: int) -> list[int]:
    """A number of units for each run where they do not come to numbers: `room` for those that
    would share the length."""
    try:
        sharing = _sharing(piece)
    except NoRuns:
        sharing = {at for at, n in enumerate(piece.runs) if n is None}
    return [room if at in sharing else 1 if n is None else n for at, n in enumerate(piece.runs)]


def unit_mm(piece: Piece, label: str) -> float:
    """How long a unit of a name is by its sample. Raises `NoRuns`."""
    sample = piece.sample_of(label)
    mm = sample.size.mm if sample else None
    at = [n for n, s in zip(piece.runs, piece.order, strict=False) if s.value == label]
    alone = at == [None] and (piece.length is None or piece.runs.count(None) > 1)
    many = 1 if alone or at == [1] else 10
    if sample is None or not mm or not sample.units:
        raise NoRuns(
            f"a length is shared by measured units, and nothing says how long '{label}' is",
            f"work {'one, measure it' if many == 1 else 'some, measure them'}, and add to 'piece:':"
            f" 'sample {many} {label} = … mm'",
        )
    return mm / sample.units


def _sharing(piece: Piece) -> set[int]:
    """Which runs share what the others leave. Raises `NoRuns`."""
    wanted = piece.length.text if piece.length else plural(piece.units or 0, "unit")
    free = [at for at, n in enumerate(piece.runs) if n is None]
    often = Counter(piece.order[at].value for at in free)
    found = {at for at in free if often[piece.order[at].value] > 1 or len(free) == 1}
    if found:
        return found
    if not free:
        told = ", ".join(f"{n} {s.value}" for n, s in zip(piece.runs, piece.order, strict=True))
        raise NoRuns(
            f"every run has its number, so none is left to fill {wanted}",
            f"write '{piece.kind} of {told}', or leave a number out",
        )
    names = [piece.order[at].value for at in free]
    raise NoRuns(
        f"nothing says which of {listed(names)} fills {wanted}",
        f"give the other its number, such as '1 {names[-1]}'",
    )
