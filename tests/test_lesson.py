"""A lesson against sums done by hand: what to prepare, weights, minutes, a timetable, a price."""

from __future__ import annotations

import json
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import ceil
from pathlib import Path

import pytest
from helpers import BYZANTINE, EXAMPLES, LIBRARY, SIMPLE, shipped_recipes, view
from hypothesis import given
from hypothesis import strategies as st
from test_kit import CLASP, CLASP_FILE, PRICES, kit
from test_packing_slip import Slip

from ringstep.commands.cli import main
from ringstep.paper.cautions import CAUTIONS
from ringstep.paper.lesson_sheet import lesson_sheet
from ringstep.paper.lesson_tables import lesson_page
from ringstep.shop.kit import Kit
from ringstep.shop.kit_length import sized
from ringstep.shop.lesson import Lesson, lesson_of
from ringstep.shop.lesson_price import Priced, price_of
from ringstep.shop.lesson_wish import (
    LessonWish,
    Pace,
    Worth,
    read_break,
    read_clock,
    read_lesson,
    read_minutes,
    read_worth,
)
from ringstep.shop.weighing import weighing
from ringstep.shop.wish import NoKit, Wish
from ringstep.weave.marks import text_mark

Out = pytest.CaptureFixture[str]
TENTH = Decimal("0.1")
EVENING = [
    "lesson", str(CLASP_FILE), "--students", "8", "--spares", "5", "--pace", "90", "--begin",
    "18:30", "--break", "10 min every 20 min", "--set-up", "15 min", "--closing", "10 min",
    "--prices", str(EXAMPLES / "prices.csv"), "--hours", "3.5", "--rate", "25",
    "--margin", "40 % of the price", "--round", "0.50",
]  # fmt: skip


def lesson(text: str, wish: LessonWish | None = None, **wanted: object) -> Lesson:
    asked = Wish(**wanted)  # type: ignore[arg-type]
    piece, _ = sized(view(text), asked)
    return lesson_of(piece, kit(text, **wanted), wish or LessonWish())


def paced(seconds: int | str, **others: object) -> LessonWish:
    return LessonWish(Pace(Decimal(seconds)), **others)  # type: ignore[arg-type]


def sheet_of(text: str, wish: LessonWish | None = None, **wanted: object) -> Slip:
    made = lesson(text, wish, **wanted)
    piece, _ = sized(view(text), made.kit.wish)
    return Slip(lesson_sheet(lesson_page(piece, made, Worth(), None, TENTH)))


def words(slip: Slip) -> str:
    return " ".join(slip.text.split())


# -- what to prepare -------------------------------------------------------------------------------


def test_what_to_prepare_for_eight_by_hand(capsys: Out) -> None:
    """36 units and the start take 37 rings A, the finish 1 tail, all put in open: 8 x 37 = 296 and
    8 to open. 5 % of 37 is 1.85, so 2 spares and 39 in a bag, 312 in all. A ring weighs 0.19650 g
    (Pappus, see test_kit), 39 of them 7.6635 g: a scale of 0.1 g shows 7.7."""
    assert main([*EVENING, "--json"]) == 0
    ring, tail = json.loads(capsys.readouterr().out)["prepare"]
    assert (ring["opened"], ring["closed"], ring["bag"], ring["all_bags"]) == (296, 0, 39, 312)
    assert (tail["opened"], tail["closed"], tail["bag"], tail["all_bags"]) == (8, 0, 2, 16)
    assert ring["ring_g"] == pytest.approx(0.19650, abs=1e-5)
    assert ring["bag_g"] == pytest.approx(7.6635, abs=1e-3)
    assert (ring["scale_reads_g"], tail["scale_reads_g"]) == ("7.7", "0.6")


def test_rings_to_close_and_rings_that_stay_closed() -> None:
    """The start of the Byzantine closes 2 A of its 124; a ring of a part stays as it is."""
    told = words(sheet_of(BYZANTINE.replace("chain 190 mm", "chain 20 units"), pieces=8))
    (line,) = kit(BYZANTINE, pieces=8).lines
    assert line.closed == 2
    assert f"{8 * line.opened:,} 16 {line.in_kit:,} {8 * line.in_kit:,}" in told


@pytest.mark.parametrize(
    ("scale", "reads", "apart"),
    [("0.1", "7.7", 1), ("0.01", "7.66", 1), ("0.2", "7.6", 2), ("0.5", "7.5", 3), ("1", "8", 6)],
)
def test_a_scale_tells_so_many_rings_apart(scale: str, reads: str, apart: int) -> None:
    """39 rings weigh 7.6635 g. 1 g is more than 5 rings of 0.1965 g (0.98 g), 0.5 g more than 2."""
    bag = weighing(kit(CLASP, spares=Decimal(5)).lines[0], Decimal(scale))
    assert bag is not None
    assert (bag.reads, bag.apart) == (Decimal(reads), apart)


@pytest.mark.parametrize("scale", ["0.01", "0.05", "0.1", "0.5", "1", "2"])
@pytest.mark.parametrize("inside", range(2, 13))
def test_counts_that_far_apart_never_read_alike(inside: int, scale: str) -> None:
    """By trying all counts to 500; of counts one ring nearer some do read alike."""
    text = SIMPLE.replace("inside 5 mm", f"inside {inside} mm")
    bag = weighing(kit(text).lines[0], Decimal(scale))
    assert bag is not None
    step = Decimal(scale)
    read = [
        (Decimal(bag.one) * n / step).quantize(Decimal(1), ROUND_HALF_UP) for n in range(1, 500)
    ]
    assert all(a != b for a, b in zip(read, read[bag.apart :], strict=False))
    if bag.apart > 1:
        assert any(a == b for a, b in zip(read, read[bag.apart - 1 :], strict=False))


def test_thicker_wire_weighs_as_more_rings() -> None:
    """1.212 mm for 1.2: 6.212 / 6.2 x 1.01 x 1.01 = 1.022074, 39 x 0.022074 = 0.861 rings."""
    bag = weighing(kit(CLASP, spares=Decimal(5)).lines[0], TENTH)
    assert bag is not None
    assert bag.off == pytest.approx(0.861, abs=5e-4)


def test_rings_of_an_unknown_metal_are_not_weighed() -> None:
    made = kit(SIMPLE.replace("copper", "moonmetal"))
    assert weighing(made.lines[0], TENTH) is None
    told = words(sheet_of(SIMPLE.replace("copper", "moonmetal")))
    assert "not known" in told
    assert "weigh" not in told
    assert "g/cm" not in told


# -- how long it takes -----------------------------------------------------------------------------


def test_seconds_by_kind_of_step_by_hand() -> None:
    """The Persian chain of 24 units: 6 rings in the start and 4 a unit are 102. At 20 s a ring
    2040 s. 2 S are folded back in the start and in each unit, 25 x 2 x 5 s = 250 s; 2 M are spread
    in each unit, 24 x 2 x 3 = 144 s; at the end 2 H are taken out, for which no pace is given."""
    text = (LIBRARY / "persian_6.weave").read_text("utf-8")
    pace = Pace(Decimal(20), {"fold back": Decimal(5), "spread": Decimal(3)})
    made = lesson(text, LessonWish(pace))
    by_kind = {(s.number, s.kind): (s.times, s.rings, s.seconds) for s in made.steps}
    assert by_kind == {
        (1, "close"): (1, 2, 40), (2, "add"): (1, 2, 40), (3, "add"): (1, 2, 40),
        (4, "fold back"): (1, 0, 10), (5, "spread"): (24, 0, 144), (6, "add"): (24, 48, 960),
        (7, "add"): (24, 48, 960), (8, "fold back"): (24, 0, 240), (9, "take out"): (1, 0, None),
    }  # fmt: skip
    assert made.seconds == 2040 + 250 + 144
    assert made.untimed == ("take out",)


def test_the_pace_of_a_kind_goes_before_that_of_a_ring() -> None:
    """31 rings: 1 closed at 4 s, 30 added at 20 s."""
    made = lesson(SIMPLE, LessonWish(Pace(Decimal(20), {"close": Decimal(4)})))
    assert made.seconds == 4 + 600
    with pytest.raises(NoKit, match="'add' steps place rings and have no pace; add --pace 20"):
        lesson(SIMPLE, LessonWish(Pace(None, {"close": Decimal(4)})))


@pytest.mark.parametrize("name", shipped_recipes())
def test_the_steps_of_every_shipped_weave_place_all_its_rings(name: str) -> None:
    made = lesson(shipped_recipes()[name], paced(20))
    assert sum(step.rings for step in made.steps) == made.kit.rings
    assert made.seconds == 20 * made.kit.rings
    assert made.timetable[-1].rings == (1, made.kit.rings)


def test_pieces_made_first_count_as_often_as_they_are_made() -> None:
    """2 strips of 3 rows of 9 rings, and 8 rings that join them (62 in all): by hand from the
    recipe."""
    text = (EXAMPLES / "joined_strips.weave").read_text("utf-8")
    made = lesson(text, paced(30))
    assert [(s.number, s.times, s.rings) for s in made.steps] == [
        (1, 18, 18), (2, 36, 36), (3, 8, 8),
    ]  # fmt: skip
    assert made.seconds == 62 * 30


def test_a_wanted_length_takes_its_units(capsys: Out) -> None:
    """180 mm are 36 units, 190 mm are 38: 40 rings."""
    words = ["lesson", str(CLASP_FILE), "--length", "190 mm", "--pace", "30", "--json"]
    assert main(words) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["seconds"] == "1200"
    assert [s["rings"] for section in data["sections"] for s in section["steps"]] == [1, 38, 1]


def test_an_evening_by_the_clock(capsys: Out) -> None:
    """38 rings of 90 s are 57 minutes. 15 minutes of set-up from 18:30; in 20 minutes 1200 / 90 =
    13.3 rings are done, in 40 minutes 26.7; the last 17 minutes end at 20:02."""
    assert main([*EVENING, "--json"]) == 0
    table = json.loads(capsys.readouterr().out)["timetable"]
    assert [(s["from"], s["to"], s["what"], s["first_ring"], s["rings_done"]) for s in table] == [
        ("18:30", "18:45", "set-up", None, None),
        ("18:45", "19:05", "work", 1, 13),
        ("19:05", "19:15", "break", None, None),
        ("19:15", "19:35", "work", 14, 26),
        ("19:35", "19:45", "break", None, None),
        ("19:45", "20:02", "work", 27, 38),
        ("20:02", "20:12", "closing", None, None),
    ]


def test_no_break_stands_at_the_end_of_the_work() -> None:
    """31 rings of 60 s with a break every 31 minutes: the work is over when it would begin."""
    every = lesson(SIMPLE, paced(60, rest=5, every=31)).timetable
    assert [slot.what for slot in every] == ["work"]
    every = lesson(SIMPLE, paced(60, rest=5, every=30)).timetable
    assert [(s.what, s.first, s.last, s.rings) for s in every] == [
        ("work", 0, 30, (1, 30)), ("break", 30, 35, None), ("work", 35, 36, (31, 31)),
    ]  # fmt: skip


def test_one_break_in_the_middle() -> None:
    """31 rings of 60 s: 16 minutes before the break and 15 behind it."""
    made = lesson(SIMPLE, paced(60, rest=5)).timetable
    assert [(s.what, s.first, s.last, s.rings) for s in made] == [
        ("work", 0, 16, (1, 16)), ("break", 16, 21, None), ("work", 21, 36, (17, 31)),
    ]  # fmt: skip


@given(pace=st.decimals("0.5", "300", places=1), every=st.integers(5, 90))
def test_rings_done_at_each_break(pace: Decimal, every: int) -> None:
    """With one pace for all rings: as many as whole paces went by."""
    made = lesson(SIMPLE, paced(str(pace), rest=10, every=every))
    works = [slot for slot in made.timetable if slot.what == "work"]
    minutes = 0
    for slot in works:
        minutes += slot.last - slot.first
        assert slot.rings is not None
        assert slot.rings[1] == min(31, int(Fraction(60 * minutes) / Fraction(pace)))
    assert minutes == ceil(31 * Fraction(pace) / 60)
    assert works[-1].rings is not None
    assert works[-1].rings[1] == 31


def test_more_breaks_than_a_lesson_has_are_refused() -> None:
    with pytest.raises(NoKit, match="more than 50 breaks"):
        lesson(SIMPLE, paced(600, rest=1, every=1))


def test_as_many_breaks_as_a_lesson_has_are_not_too_many() -> None:
    """31 rings of 98 s are 51 minutes, so 50 breaks; of 100 s they are 52."""
    slots = lesson(SIMPLE, paced(98, rest=1, every=1)).timetable
    assert sum(slot.what == "break" for slot in slots) == 50
    with pytest.raises(NoKit, match="more than 50 breaks"):
        lesson(SIMPLE, paced(100, rest=1, every=1))


def test_rings_more_than_a_lesson_has_are_refused() -> None:
    with pytest.raises(NoKit, match="at most 20,000; 'ringstep kit' packs pieces of any size"):
        lesson(SIMPLE.replace("30 units", "20000 units"), paced(20))


@pytest.mark.parametrize(
    ("text", "minutes"), [("15 min", 15), ("1 h", 60), ("1 h 30 min", 90), ("2 hours", 120)]
)
def test_times_as_they_are_typed(text: str, minutes: int) -> None:
    assert read_minutes("closing", text) == minutes


def test_breaks_and_clocks_as_they_are_typed() -> None:
    assert read_break("10 min every 1 h") == (10, 60)
    assert read_break("10 min in the middle") == read_break("10 min") == (10, 0)
    assert read_clock("18:30") == (18 * 60 + 30, False)
    assert read_clock("12:05 am") == (5, True)
    assert read_clock("6:30 PM") == (18 * 60 + 30, True)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (["--break", "10 min every 60 min"], "--break: without a pace there are no times"),
        (["--begin", "18:30"], "--begin: without a pace there are no times"),
        (["--pace", "20", "--break", "10 min daily"], "as in --break '10 min in the middle'"),
        (["--pace", "20", "--break", "10 every 60"], "'10' is no time; write whole minutes"),
        (["--pace", "20", "--begin", "25:00"], "'25:00' is no time of the day"),
        (["--pace", "20", "--begin", "13:00 pm"], "is no time of the day"),
        (["--pace", "20", "--set-up", "1.5 min"], "'1.5 min' is no time; write whole minutes"),
        (["--pace", "20", "--closing", "25 h"], "it goes from 1 min to 24 h"),
        (
            ["--pace", "20", "--pace", "fold bak=5"],
            "no steps 'fold bak'; the nearest is 'fold back'",
        ),
        (["--pace", "20", "--pace", "30"], "--pace: the pace of a ring is given twice"),
        (["--pace", "0"], "--pace: 0 is out of bounds"),
        (["--students", "0"], "--students: '0' is no count; write a whole number from 1 to 9999"),
        (["--scale", "0"], "--scale: 0 is out of bounds"),
        (["--margin", "40 % on top"], "--margin: money needs a price list; add --prices FILE.csv"),
        (["--batch", " "], "--batch: write 1 to 40 letters"),
    ],
)
def test_what_cannot_be_read_is_told_with_what_to_type(
    typed: list[str], said: str, capsys: Out
) -> None:
    assert main(["lesson", str(CLASP_FILE), *typed]) == 2
    out, told = capsys.readouterr()
    assert out == ""
    assert said in told


# -- what it costs ---------------------------------------------------------------------------------


def priced_kit(prices: bytes = PRICES, pieces: int = 8) -> Kit:
    return kit(CLASP, prices, pieces=pieces, spares=Decimal(5))


def priced(made: Kit, worth: Worth) -> Priced:
    assert made.bill is not None
    return price_of(made.bill, made.wish.pieces, worth)


def test_a_price_by_hand() -> None:
    """Material 4 x 3.80 + 2 x 1.20 + 6.50 = 24.10. Work 3.5 x 25 = 87.50. 111.60 / 8 = 13.95.
    40 % of the price: 13.95 / 0.6 = 23.25, up to 23.50; 8 x 23.50 - 111.60 = 76.40.
    40 % on top: 13.95 x 1.4 = 19.53, up to 20.00 and, in cents, 19.53."""
    work = {"hours": Decimal("3.5"), "rate": Decimal(25)}
    half = Decimal("0.50")
    told = priced(priced_kit(), Worth(**work, margin=Decimal(40), of_price=True, step=half))
    assert (told.material, told.work, told.cost) == (
        Decimal("24.10"), Decimal("87.50"), Decimal("111.60"),
    )  # fmt: skip
    assert (told.each, told.wanted) == (Fraction("13.95"), Fraction("23.25"))
    assert (told.price, told.left) == (Decimal("23.50"), Decimal("76.40"))
    on_top = priced(priced_kit(), Worth(**work, margin=Decimal(40), step=half))
    assert (on_top.price, on_top.left) == (Decimal("20.00"), Decimal("48.40"))
    assert priced(priced_kit(), Worth(**work, margin=Decimal(40))).price == Decimal("19.53")


def test_a_price_is_rounded_once_and_up() -> None:
    """9 kits take the packs of 8: 24.10 / 9 is 2.677…, five times that 13.388…, so 13.39 and not
    13.40, as of a rounded 2.68. In yen 5 % of the price: 24 / 7 / 0.95 = 3.609, so 4."""
    each = priced(priced_kit(pieces=9), Worth(margin=Decimal(400)))
    assert each.each == Fraction("24.10") / 9
    assert each.price == Decimal("13.39")
    yen = priced_kit(
        b"ring,pack,price,currency\nA,1000,24,JPY\ntail,100,0,JPY\nclasp,10,0,JPY\n", 7
    )
    assert priced(yen, Worth(margin=Decimal(5), of_price=True)).price == 4


@given(
    percent=st.decimals("0", "95", places=2),
    step=st.decimals("0.01", "5", places=2),
    pieces=st.integers(1, 30),
)
def test_a_price_leaves_the_margin_and_not_a_step_more(
    percent: Decimal, step: Decimal, pieces: int
) -> None:
    made = priced_kit(pieces=pieces)
    told = priced(made, Worth(margin=percent, of_price=True, step=step))
    assert told.price is not None
    assert told.price % step == 0
    price, each = Fraction(told.price), Fraction(told.cost) / pieces
    assert (price - each) * 100 >= Fraction(percent) * price
    lower = price - Fraction(step)
    assert (lower - each) * 100 < Fraction(percent) * lower


def test_a_shops_own_list_and_the_cheapest_packs(capsys: Out) -> None:
    """312 A: 1 pack of 500 at 15.00, cheaper than 4 of 100 at 3.80; 2 x 1.20 and 6.50 as before:
    23.90, an eighth is 2.9875; half of it on top 4.48125, so 4.49."""
    prices = str(EXAMPLES / "workshop_prices.csv")
    asked = ["lesson", str(CLASP_FILE), "--students", "8", "--spares", "5", "--prices", prices]
    assert main([*asked, "--margin", "50 % on top"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "A 1 pack of 500 × 15.00 15.00" in told
    assert "cost a kit 23.90 / 8 2.9875 with the margin 2.9875 × 1.5" in told
    assert "price of a kit rounded up to a multiple of 0.01 4.49" in told


def test_no_price_is_made_of_a_cost_that_is_not_the_whole(capsys: Out, tmp_path: Path) -> None:
    prices = tmp_path / "p.csv"
    prices.write_text("ring,pack,price,currency\nA,100,3.80,EUR\ntail,10,1.20,EUR\n")
    some = ["lesson", str(CLASP_FILE), "--prices", str(prices), "--margin", "40 % on top"]
    assert main(some) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "no price is made, since the cost is not the whole of it" in told
    assert "clasp has no price in the list" in told
    assert "price of a kit" not in told


def test_what_is_typed_of_money_is_read_or_refused() -> None:
    assert read_worth(margin="40% of the price").of_price
    assert read_worth(margin="60 % on top") == Worth(margin=Decimal(60))
    for wrong, said in (
        ({"margin": "40 %"}, "does not say of what"),
        ({"margin": "100 % of the price"}, "it goes from 0 to 95"),
        ({"hours": "3"}, "add --rate too"),
        ({"rate": "3"}, "add --hours too"),
        ({"step": "0.5"}, "it rounds the price"),
    ):
        with pytest.raises(NoKit, match=said):
            read_worth(**wrong)  # type: ignore[arg-type]


# -- on paper and on the screen --------------------------------------------------------------------


def test_the_sheet_has_a_box_for_all_that_is_to_be_done() -> None:
    slip = sheet_of(CLASP, paced(90, rest=10, every=20), pieces=8, spares=Decimal(5))
    assert slip.open == []
    assert slip.boxes == [
        "A: open in all", "A: a bag", "A: all bags", "tail: open in all", "tail: a bag",
        "tail: all bags", "clasp: a bag", "clasp: all bags", "work from 0:00", "break from 0:20",
        "work from 0:30", "break from 0:50", "work from 1:00",
    ]  # fmt: skip


def test_nothing_is_printed_that_was_not_given() -> None:
    """Without a pace no minute, without prices no money, without a batch no mark, and on paper no
    option of a command."""
    bare = words(sheet_of(CLASP))
    for word in ("minute", "second", "Timetable", "EUR", "price", "Batch", "text mark", "spare"):
        assert word not in bare
    assert "--" not in bare
    timed = words(sheet_of(CLASP, paced(90)))
    assert "the pace is your own: 90 seconds a ring" in timed
    assert CAUTIONS[0] in timed
    assert "EUR" not in timed
    assert "--" not in timed


def test_without_a_pace_it_says_how_to_give_one(capsys: Out) -> None:
    assert main(["lesson", str(CLASP_FILE)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "2 add A 36 36" in told
    assert "no pace is given, so no times are told" in told
    assert "--pace 20" in told


def test_the_sheet_is_written_and_no_recipe_is_written_over(tmp_path: Path, capsys: Out) -> None:
    target = tmp_path / "evening.html"
    assert main([*EVENING, "--sheet", str(target), "--paper", "letter"]) == 0
    assert f"wrote {target}" in capsys.readouterr().out
    page = target.read_text("utf-8")
    assert "size: letter portrait" in page
    assert "price of a kit rounded up to a multiple of 0.50 23.50" in words(Slip(page))
    recipe = tmp_path / "own.weave"
    recipe.write_text(CLASP)
    assert main(["lesson", str(recipe), "--sheet", str(recipe)]) == 2
    assert recipe.read_text() == CLASP


def test_a_batch_stands_on_everything_with_the_mark_of_its_recipe(
    tmp_path: Path, capsys: Out
) -> None:
    slip, sheet = tmp_path / "slip.html", tmp_path / "sheet.html"
    batch = ["--batch", "26 <b>11"]
    assert main(["kit", str(CLASP_FILE), *batch, "--slip", str(slip)]) == 0
    shop = ["--shop-text", str(tmp_path)]
    assert main(["lesson", str(CLASP_FILE), *batch, "--sheet", str(sheet), *shop]) == 0
    trace = f"Batch 26 <b>11, text mark {text_mark(view(CLASP).recipe.source)}"
    assert capsys.readouterr().out.count(trace) == 2
    assert words(Slip(slip.read_text("utf-8"))).count(trace) == 3  # the slip and two labels
    assert words(Slip(sheet.read_text("utf-8"))).count(trace) == 1
    assert trace in (tmp_path / "chain_with_clasp-shop.txt").read_text("utf-8")
    assert trace in words(Slip((tmp_path / "chain_with_clasp-shop.html").read_text("utf-8")))
    assert kit(CLASP.replace("8 mm", "9 mm"), batch="26 <b>11").trace not in ("", trace)
    assert main(["kit", str(CLASP_FILE), *batch, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["batch"] == "26 <b>11"


def test_a_lesson_reads_its_options_by_name() -> None:
    assert read_lesson(["20", "fold back=5"], begin="9:00") == LessonWish(
        Pace(Decimal(20), {"fold back": Decimal(5)}), begin=540
    )
