"""What a fit says to a maker, of fits that were made up so that every number is known."""

from __future__ import annotations

from dataclasses import replace
from math import hypot, pi, sqrt

import pytest
from helpers import SPIRAL, view

from ringstep.paper import fit_report
from ringstep.paper.fit_report import Kept, Seen, remaining, report, unit_length, unit_sides
from ringstep.space.cell import Cell, CellLink, CellRing, CellStep
from ringstep.space.fit_laid import Laid
from ringstep.space.result import Fit, Form, PlacedRing, Pose
from ringstep.weave.ring_graph import Class

#: A spiral, two units of it: links to the ring before and the one before that.
LINKS = (CellLink(0, 1, (0,)), CellLink(1, 0, (1,)), CellLink(0, 0, (1,)), CellLink(1, 1, (1,)))
TWO = Cell((CellRing("A", 5, 1.2),) * 2, LINKS, 1)
ONE = Cell((CellRing("A", 5, 1.2),), (CellLink(0, 0, (1,)), CellLink(0, 0, (2,))), 1)
FRONT, MIXED = (1, 1, 1, 1), (1, 1, 1, -1)


def pose(*repeat: float, rings: int = 1) -> Pose:
    """Rings of 5 mm inside and wire 1.2 mm, 7.4 mm across."""
    one = PlacedRing("A", 0, (0,), (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 3.1, 1.2)
    return Pose((one,) * rings, repeat, 0.1)


def form(room: float = 1.2, long: float = 8.0, signs: tuple[int, ...] = FRONT) -> Form:
    """Two units of a spiral, pulled out to so many mm."""
    shown = pose(8.0, 0.5, rings=2)
    return Form(
        TWO, (2,), 0, "none", signs, True, True, True, room, True, 1.0, shown, shown,
        pose(long, 0.5, rings=2), pose(4.0, 0.5, rings=2),
    )  # fmt: skip


def fit(*forms: Form, cell: Cell = ONE, bounds: tuple[float, ...] = (3.0,)) -> Fit:
    return Fit(cell, forms, bounds, (False,) * len(bounds), (), 0, 0, True)


CHAIN = Laid(ONE, "chain", (1, 1), (Class("A", 1, 0, 0),), ())


RIGHT = Seen(True, 12, 0.1236)


def told(
    *forms: Form,
    laid: Laid = CHAIN,
    text: str = SPIRAL,
    seen: Seen = RIGHT,
    every: bool = False,
    **changed: object,
) -> str:
    """The report in one line."""
    made = replace(fit(*forms, cell=laid.cell, bounds=(3.0,) * len(laid.cell.rings)), **changed)  # type: ignore[arg-type]
    lines = report(view(text), laid, Kept(made, (seen,) * len(forms)), every)
    return " ".join(" ".join(lines).split())


# -- which forms remain ----------------------------------------------------------------------------


def test_fit_report_tells_one_form_of_those_with_the_same_signs() -> None:
    """The roomiest, or the longest where it is longer by more than 2 %."""
    best = form()
    assert remaining(fit(best, form(1.1, 8.1))) == (best,)
    assert remaining(fit(best, form(1.1, 8.2))) == (form(1.1, 8.2),)
    mirror = form(signs=(-1, -1, -1, -1))
    assert remaining(fit(best, mirror)) == (best,)
    assert remaining(fit(best, form(signs=MIXED))) == (best, form(signs=MIXED))
    assert remaining(fit()) == ()


def test_fit_report_tells_no_form_into_which_the_rings_do_not_go_or_which_is_laid_otherwise() -> (
    None
):
    tight = replace(form(signs=MIXED), fits=False)
    assert remaining(fit(form(), tight)) == (form(),)
    assert remaining(fit(tight, form())) == (tight,)
    for other in ({"as_said": False}, {"folds_kept": False}):
        assert remaining(fit(form(), replace(form(signs=MIXED), **other))) == (form(),)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("room", "long", "turn", "stays"),
    [
        (1.15, 8.1, "half", True),
        (1.15, 8.1, "none", False),
        (1.15, 8.1, "free", False),
        (1.13, 8.1, "half", False),  # 1.2 is over 5 % more
        (1.26, 8.1, "half", False),
        (1.15, 7.3, "half", True),
        (1.15, 7.1, "half", False),  # 11 % shorter
    ],
)
def test_fit_report_tells_a_near_rival_that_turns_otherwise(
    room: float, long: float, turn: str, stays: bool
) -> None:
    rival = replace(form(room, long), turn=turn)
    assert (rival in remaining(fit(form(), rival))) is stays


def test_fit_report_takes_the_smallest_ar_of_all_forms_with_the_same_signs() -> None:
    """6.2 mm of mean diameter over 1.2 x room, less 1."""
    made = fit(form(), form(1.3), replace(form(1.5), as_said=False), form(1.6, signs=MIXED))
    assert fit_report.smallest(made, made.forms[0], 0) == pytest.approx(6.2 / 1.56 - 1)
    assert fit_report.smallest(made, made.forms[3], 0) == pytest.approx(6.2 / 1.92 - 1)
    words = told(*made.forms, every=True)
    assert "smallest AR found 2.97, 3.31 as drawn (hard packing bound 3.00)" in words
    assert "smallest AR found 2.97 (hard packing bound 3.00)" in words
    assert "AR of your rings 4.17" in words


# -- lengths ---------------------------------------------------------------------------------------


def test_fit_report_measures_units_of_the_recipe() -> None:
    """Two units laid out that hold three of the recipe's each are 12 mm long: 2 mm a unit."""
    laid = replace(CHAIN, cycle=(1, 3))
    assert unit_length(laid, form(), pose(12.0, 0.0)) == 2
    assert fit_report._extent(form(long=8.0)) == 4
    assert fit_report._extent(replace(form(), stretched=None)) == 0
    sheet = replace(form(), units=(1, 2), stretched=pose(4.0, 1.0, 3.0))
    assert fit_report._extent(sheet) == 6


def test_fit_report_measures_a_sheet_along_a_row_and_from_row_to_row() -> None:
    """Rows two by two are 4 mm apart, places (1, 3); the next place along starts a row, 2 mm, down,
    so it lies at (-1, 3), sqrt 10 away. A place takes 4 / 2 x 3 = 6 square mm of the sheet."""
    sheet = replace(form(), units=(2, 1), slip=1)
    laid = replace(CHAIN, kind="sheet", cycle=(2, 3))
    wide, high = unit_sides(laid, sheet, pose(4.0, 1.0, 3.0))
    assert wide == pytest.approx(sqrt(10) / 3)
    assert high == pytest.approx(6 / sqrt(10) / 2)
    doubled = replace(sheet, units=(2, 2))
    assert unit_sides(laid, doubled, pose(4.0, 2.0, 6.0)) == pytest.approx(
        (hypot(0, 3) / 3, 6 / 3 / 2)
    )


def test_fit_report_adds_up_a_piece_of_several_sizes() -> None:
    """10 x 3 + 5 x 2 = 40 mm, 10 x 4 + 5 x 2.6 = 53 mm."""
    blank, words = fit_report.whole_length([(10, 3.0, 4.0), (5, 2.0, 2.6)])
    assert blank == ""
    assert (
        "10 of 3.00 to 4.00 mm and 5 of 2.00 to 2.60 mm, which is 40 to 53 mm, from pushed together"
        in " ".join(words.split())
    )


# -- the report ------------------------------------------------------------------------------------


def test_fit_report_of_one_form() -> None:
    words = told(form())
    assert words.startswith(
        "Spiral 4-in-1: 1 ring laid out in space (1 unit) Computed from the recipe's links, lays"
        " and folds; not drawn or measured from a piece. the form found smallest AR found 3.31"
    )
    assert "your rings fit; at best 0.12 mm between wires one unit hangs 4.00 mm long" in words
    assert "2.00 mm pushed together; laid flat without pulling it lies in between" in words
    assert "in 12 pairs of rings: all right Rings with the same links" in words
    assert "in 1 pair of rings: NOT all right; do not rely" in told(form(), seen=Seen(False, 1, 0))
    assert words.endswith("not protective or load-bearing equipment.")
    for absent in ("more form", "forms", "broken off", "No layout", "the recipe says"):
        assert absent not in words


def test_fit_report_says_what_is_not_as_it_should_be() -> None:
    words = told(form(), replace(form(), as_said=False), finished=False, notes=("beads are out",))
    assert "Beads are out. The search was broken off: this is the best so far" in words
    assert "1 more form found: tighter or shorter, or not as the steps say; --all draws" in words
    assert "No layout with the lays of the steps" in told(replace(form(), as_said=False))
    assert "No layout with the folds of the steps" in told(replace(form(), folds_kept=False))
    both = replace(form(), as_said=False, folds_kept=False)
    assert "No layout with the lays of the steps" in told(both)
    tight = replace(form(0.9), fits=False, at_room=0.85)
    assert (
        "do not fit in this form: at best wires run 0.05 mm into one another; pictures and lengths"
        " are with wires 0.85 times as thick" in told(tight, seen=Seen(True, 2, -0.0496))
    )


def test_fit_report_counts_the_forms_it_tells() -> None:
    two = (form(), form(signs=MIXED))
    words = told(*two, form(1.1))
    assert "2 forms remain. The steps do not decide between them: compare with" in words
    assert "1 more form found" in words
    assert "form 1 of 2 smallest" in words
    assert "form 2 of 2 smallest" in words
    every = told(*two, form(1.1), every=True)
    assert "All 3 forms found, the likeliest first. form 1 of 3" in every
    assert "more form" not in every
    assert "forms" not in told(form(), every=True)


def test_fit_report_holds_rings_of_two_kinds_against_their_bounds() -> None:
    cell = Cell((CellRing("A", 5, 1.2), CellRing("B", 5, 1.2), CellRing("A", 5, 1.2)), LINKS[:2], 1)
    laid = Laid(cell, "chain", (1, 1), tuple(Class(r.name, 1, 0, 0) for r in cell.rings), ())
    one = replace(form(), cell=cell, signs=(1, 1))
    assert "found 3.31 (hard packing bound 3.00) AR of your rings 4.17 your" in told(one, laid=laid)
    assert (
        "found A 3.31 (hard packing bound 3.00); B 3.31 (hard packing bound 2.50 by area) AR of"
        " your rings A 4.17; B 4.17 your"
        in told(one, laid=laid, bounds=(3.0, 2.5, 3.0), bounds_by_area=(False, True, False))
    )
    joint = told(one, laid=laid, bounds=(3.0, 3.0, 3.5))
    assert "A and B 3.31 (hard packing bound 3.00); A 3.31 (hard packing bound 3.50)" in joint


def test_fit_report_says_what_the_recipe_says_of_sizes() -> None:
    text = SPIRAL.replace("  A meets 4\n", "  A meets 4\n  AR 4.0 to 4.5, from my own trials\n")
    assert "the recipe says good to make at AR 4.0 to 4.5 (from my own trials) one unit" in told(
        form(), text=text
    )


@pytest.mark.parametrize("dims", [0, 2])
def test_fit_report_names_what_was_laid_out(dims: int) -> None:
    links = (CellLink(0, 1, (0,) * dims),)
    laid = replace(CHAIN, cell=Cell((CellRing("A", 5, 1.2),) * 2, links, dims), cycle=(3, 2))
    assert fit_report._what(laid) == ("3 rows of 2 units" if dims else "the whole piece")
    assert fit_report._what(replace(CHAIN, cycle=(1, 3))) == "3 units"


def test_fit_report_gives_the_measures_of_a_sheet_way_by_way() -> None:
    cell = Cell((CellRing("A", 5, 1.2),), (CellLink(0, 0, (1, 0)),), 2)
    laid = Laid(cell, "sheet", (1, 1), (Class("A", 1, 0, 0),), ())
    lies = replace(
        form(), cell=cell, units=(1, 1), signs=(1,), shown=pose(3.0, 0.0, 5.0),
        stretched=pose(3.0, 0.0, 5.0), pushed=pose(2.0, 0.0, 4.0), hung=pose(3.5, 0.0, 4.5),
    )  # fmt: skip
    rows = fit_report._size_rows(None, laid, fit(lies, cell=cell), lies)
    assert rows == [
        ("hung by first row", "rows lie 3.50 mm apart, a unit takes 4.50 mm along them"),
        ("laid open", "rows lie 3.00 mm apart, a unit takes 5.00 mm along them"),
        ("hung by the side", "not found: the pull came to no end"),
        ("pushed together", "rows lie 2.00 mm apart, a unit takes 4.00 mm along them"),
    ]
    tube = fit_report._size_rows(None, replace(laid, kind="tube"), fit(lies, cell=cell), lies)
    assert [way for way, _ in tube] == ["hung by an end", "drawn wide", "pushed together"]
    endless = replace(lies, stretched=None)
    made = fit(endless, cell=cell)
    assert fit_report._size_rows(None, laid, made, endless) == [
        ("length", "no end of the range was found")
    ]
    broken = replace(made, finished=False)
    assert fit_report._size_rows(None, laid, broken, replace(lies, pushed=None)) == [
        ("length", "not measured: broken off")
    ]
    whole = replace(laid, cell=Cell((CellRing("A", 5, 1.2),), (), 0))
    assert fit_report._size_rows(None, whole, made, lies) == []


def lies(changed: dict[str, object], steps: tuple[CellStep, ...] = (), dims: int = 1) -> list[str]:
    links = LINKS if dims == 1 else ()
    laid = replace(CHAIN, cell=Cell((CellRing("A", 5, 1.2),) * 2, links, dims, steps))
    return fit_report._lies(laid, replace(form(), **changed))  # type: ignore[arg-type]


def test_fit_report_says_how_a_form_lies() -> None:
    alike = ["units come round alike after 2"]
    assert lies({}) == alike
    assert lies({"units": (1,)}) == ["units come round alike"]
    assert lies({}, dims=2) == ["places come round alike after 2"]
    assert lies({"turn": "quarter"}) == ["every unit is turned a quarter round from the one before"]
    assert lies({"turn": "half"}) == ["every unit is turned half round from the one before"]
    for twist, degrees in ((pi / 6, 30), (-pi / 6, 30), (11 * pi / 6, 30), (5 * pi / 2, 90)):
        words = lies({"turn": "free", "shown": pose(8.0, twist)})
        assert words == [f"every unit turns by {degrees}° about the chain"]
    side = (CellStep((0,), side="front"),)
    assert lies({}, side) == ["lays as the steps say", *alike]
    assert lies({"as_said": False}, side) == ["lays NOT as the steps say", *alike]
    fold = (CellStep((0,), fold=(0,)),)
    assert lies({}, fold) == ["folds as the steps say", *alike]
    assert lies({"folds_kept": False}, fold) == ["folds NOT as the steps say", *alike]
    spread = (CellStep((0,), spread=((1, (0,)),)),)
    assert lies({}, spread) == alike
    closed = {"spreads_kept": False}
    assert lies(closed, spread) == ["rings spread apart close again", *alike]
    assert lies(closed) == alike
    assert lies({}, dims=0) == ["by its links alone"]
    assert lies({}, side, dims=0) == ["lays as the steps say"]


# -- pictures --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shown", "units"),
    [
        (pose(4.0, 0.5), 13),  # 6.5 x 7.4 mm are 48.1, so 12.03 units
        (pose(4.0, 0.5, rings=20), 5),  # 110 rings at most
        (pose(100.0, 0.5), 2),
        (pose(100.0, 0.5, rings=55), 2),
        (pose(4.0, 0.5, rings=56), 1),
        (pose(4.0, 0.5, rings=200), 1),
    ],
)
def test_fit_report_draws_as_many_units_as_make_a_picture(shown: Pose, units: int) -> None:
    assert fit_report._shifts(replace(form(), shown=shown)) == [(k,) for k in range(units)]


def test_fit_report_draws_one_piece_once_and_a_sheet_upright() -> None:
    """4.5 x 7.4 = 33.3 mm along, 3 x 7.4 = 22.2 mm down. Places at (0, 5), rows 4 mm apart: 7 by 6.
    Places at (3, 4), 5 mm apart, rows of 5 mm: 5 x 4 / 5 = 4 mm apart; five places on are 15 of
    25 mm, so that each row begins 5 x 3 / 25 = 0.6 of a place before."""
    assert fit_report._shifts(replace(form(), shown=pose())) == [()]
    upright = fit_report._shifts(replace(form(), shown=pose(4.0, 0.0, 5.0)))
    assert upright == [(row, place) for row in range(6) for place in range(7)]
    slanting = fit_report._shifts(replace(form(), shown=pose(5.0, 3.0, 4.0)))
    assert slanting == [
        (row, place - back) for row, back in enumerate((0, 1, 1, 2, 2, 3)) for place in range(7)
    ]
    many = fit_report._shifts(replace(form(), shown=pose(4.0, 0.0, 5.0, rings=11)))
    assert many == [(row, place) for row in range(2) for place in range(7)]  # ten units, rounded up
    wide = fit_report._shifts(replace(form(), shown=pose(60.0, 0.0, 50.0)))
    assert wide == [(row, place) for row in range(2) for place in range(2)]
    huge = fit_report._shifts(replace(form(), shown=pose(4.0, 0.0, 5.0, rings=200)))
    assert huge == [(row, place) for row in range(2) for place in range(2)]


def test_fit_report_looks_again_with_the_wires_the_recipe_has() -> None:
    """Two rings linked crosswise, wires 2 mm as grown by 1.25, so 1.6 mm of the recipe's: their
    middles are 5 mm apart, so that 3.4 mm are between the recipe's wires."""
    cell = Cell((CellRing("A", 8.4, 1.6), CellRing("B", 8.4, 1.6)), (CellLink(0, 1, ()),), 0)
    rings = (
        PlacedRing("A", 0, (), (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 5.0, 2.0),
        PlacedRing("B", 1, (), (5.0, 0.0, 0.0), (0.0, 1.0, 0.0), 5.0, 2.0),
    )
    tight = Pose(rings, (), 3.0)
    one = replace(
        form(1.25), cell=cell, units=(), signs=(1,), tight=tight, shown=tight, stretched=None,
        pushed=None,
    )  # fmt: skip
    (seen,) = fit_report.kept(fit(one, cell=cell, bounds=(1.0, 1.0))).seen
    assert seen.right
    assert seen.pairs == 2  # one in each of two poses
    assert seen.gap == pytest.approx(3.4, abs=0.01)
    apart = replace(tight, rings=(rings[0], replace(rings[1], centre=(30.0, 0.0, 0.0))))
    assert not fit_report._seen(replace(one, shown=apart)).right


def test_fit_report_names_files_by_form(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        fit_report, "form_svgs", lambda laid, form: {"front": f"{form.room}", "side": "s"}
    )
    kept = Kept(fit(form()), (Seen(True, 1, 1),))
    assert list(fit_report.files(CHAIN, kept)) == ["form-front.svg", "form-side.svg", "form.obj"]
    two = Kept(fit(form(), form(1.1, signs=MIXED), form(1.05)), (Seen(True, 1, 1),) * 3)
    some = fit_report.files(CHAIN, two)
    assert [name for name in some if "front" in name] == ["form-1-front.svg", "form-2-front.svg"]
    assert some["form-2-front.svg"] == b"1.1"
    assert len(fit_report.files(CHAIN, two, every=True)) == 9


def test_fit_report_says_on_a_picture_with_what_wires_it_was_drawn() -> None:
    drawn = fit_report.form_svgs(CHAIN, form())
    assert list(drawn) == ["front", "side"]
    assert "Seen from the front. Computed from the recipe" in drawn["front"]
    assert "times as thick" not in drawn["front"]
    tight = fit_report.form_svgs(CHAIN, replace(form(0.9), fits=False, at_room=0.85))
    assert "Wires 0.85 times as thick as the recipe" in tight["side"]
