"""Units written out by hand for the tests: links and steps of long-established weaves."""

from __future__ import annotations

from ringstep.space.cell import Cell, CellLink, CellRing, CellStep, Shift, Side

Through = tuple[int, Shift]


def rings(names: str, inside: float = 6.0, wire: float = 1.0) -> tuple[CellRing, ...]:
    """Equal rings with these names."""
    return tuple(CellRing(name, inside, wire) for name in names.split())


def step(
    new: tuple[int, ...], *through: Through, side: Side | None = None, fold: bool = False
) -> CellStep:
    """A step; with `fold` its new rings are folded back."""
    return CellStep(new, tuple(through), side, new if fold else ())


def built(all_rings: tuple[CellRing, ...], dims: int, *steps: CellStep) -> Cell:
    """The cell whose links are just those the steps make."""
    links = tuple(
        CellLink(new, ring, shift) for s in steps for new in s.new for ring, shift in s.through
    )
    return Cell(all_rings, links, dims, steps)


def simple_chain(inside: float = 4.0) -> Cell:
    """Each ring through the one before; one ring a unit."""
    return built(rings("A", inside), 1, step((0,), (0, (-1,))))


def simple_pair(inside: float = 3.0) -> Cell:
    """The same, two rings a unit."""
    return built(rings("A B", inside), 1, step((0,), (1, (-1,))), step((1,), (0, (0,))))


def doubled_chain(inside: float = 4.0) -> Cell:
    """Each pair through the pair before, two pairs a unit."""
    return built(
        rings("A1 A2 B1 B2", inside),
        1,
        step((0, 1), (2, (-1,)), (3, (-1,))),
        step((2, 3), (0, (0,)), (1, (0,))),
    )


def spiral(inside: float = 4.0) -> Cell:
    """Each ring through the two before, always from the front."""
    return built(rings("A", inside), 1, step((0,), (0, (-1,)), (0, (-2,)), side="front"))


def spiral_alternating(inside: float = 5.0) -> Cell:
    """The same, from the front and from the back in turn."""
    return built(
        rings("A B", inside),
        1,
        step((0,), (1, (-1,)), (0, (-1,)), side="front"),
        step((1,), (0, (0,)), (1, (-1,)), side="back"),
    )


def european_4(inside: float = 3.5) -> Cell:
    """Each ring through two of the row above."""
    return built(rings("A", inside), 2, step((0,), (0, (-1, 0)), (0, (-1, 1))))


def european_6(inside: float = 5.0) -> Cell:
    """Each ring through three of the row above."""
    return built(rings("A", inside), 2, step((0,), (0, (-1, 0)), (0, (-1, 1)), (0, (-1, 2))))


def japanese_4() -> Cell:
    """Flat rings joined along and across by smaller upright ones."""
    flat, small = CellRing("flat", 8.0, 1.6), rings("across down", 4.0, 1.2)
    return built(
        (flat, *small),
        2,
        step((0,)),
        step((1,), (0, (0, -1)), (0, (0, 0))),
        step((2,), (0, (-1, 0)), (0, (0, 0))),
    )


def persian_6(inside: float = 5.5) -> Cell:
    """Middle pairs through the side pair before; side pairs through two middle pairs."""
    return built(
        rings("M1 M2 S1 S2", inside),
        1,
        step((0, 1), (2, (-1,)), (3, (-1,))),
        step((2, 3), (0, (0,)), (1, (0,)), (0, (-1,)), (1, (-1,)), fold=True),
    )


def persian_linked(inside: float = 6.0, sides: tuple[Side, ...] = ("front",)) -> Cell:
    """The same with the middle pair linked; one unit for each side given."""
    names, steps = [], []
    count = len(sides)
    for unit, side in enumerate(sides):
        m1, m2, s1, s2 = (4 * unit + k for k in range(4))
        names += [f"M1{'abc'[unit]}", f"M2{'abc'[unit]}", f"S1{'abc'[unit]}", f"S2{'abc'[unit]}"]
        before = (-1,) if unit == 0 else (0,)
        back = 4 * ((unit - 1) % count)
        sp = ((back + 2, before), (back + 3, before))
        mp = ((back, before), (back + 1, before))
        steps += [
            step((m1,), *sp),
            step((m2,), *sp, (m1, (0,)), side=side),
            step((s1, s2), (m1, (0,)), (m2, (0,)), *mp, fold=True),
        ]
    return built(rings(" ".join(names), inside), 1, *steps)


def byzantine(inside: float = 3.5, fold: bool = True) -> Cell:
    """Pairs through pairs, every third pair folded back."""
    return built(
        rings("C1 C2 A1 A2 B1 B2", inside),
        1,
        step((0, 1), (4, (-1,)), (5, (-1,))),
        step((2, 3), (0, (0,)), (1, (0,))),
        step((4, 5), (2, (0,)), (3, (0,)), fold=fold),
    )


def flower_chain() -> Cell:
    """Three rings through one eye, joined by single connectors."""
    petals, link = rings("P1 P2 P3", 7.0, 1.2), CellRing("k", 5.0, 1.0)
    return built(
        (*petals, link),
        1,
        step((3,), (0, (-1,)), (1, (-1,)), (2, (-1,))),
        step((0,), (3, (0,))),
        step((1,), (3, (0,)), (0, (0,)), side="front"),
        step((2,), (3, (0,)), (0, (0,)), (1, (0,)), side="front"),
    )


def shaggy() -> Cell:
    """A simple chain with six small rings on each of its rings."""
    core, tufts = CellRing("core", 6.0, 1.2), rings("t1 t2 t3 t4 t5 t6", 3.5, 0.8)
    return built((core, *tufts), 1, step((0,), (0, (-1,))), step((1, 2, 3, 4, 5, 6), (0, (0,))))


def hopf() -> Cell:
    """Two rings linked once, and nothing else."""
    return Cell(rings("A B", 3.0), (CellLink(0, 1, ()),), 0, (step((0,)), step((1,), (0, ()))))


ALL = {
    "simple chain": simple_chain,
    "doubled chain": doubled_chain,
    "spiral 4-in-1, front": spiral,
    "spiral 4-in-1, alternating": spiral_alternating,
    "European 4-in-1": european_4,
    "European 6-in-1": european_6,
    "Japanese 4-in-1": japanese_4,
    "Persian 6-in-1": persian_6,
    "Persian linked, front": persian_linked,
    "Persian linked, alternating": lambda: persian_linked(6.0, ("front", "back")),
    "Byzantine": byzantine,
    "flower of three": flower_chain,
    "shaggy": shaggy,
}

#: Small enough to be fitted in every test run; `search_long.py` looks at all of them.
QUICK = tuple(n for n in ALL if n not in ("shaggy", "Persian linked, front"))
