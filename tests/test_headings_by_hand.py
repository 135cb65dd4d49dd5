"""Where the steps of a section are worked, and which rings of a drawer make what, by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from helpers import EXAMPLES, LIBRARY, view

from ringstep.commands.cli import main
from ringstep.paper.steps_text import step_list

Out = pytest.CaptureFixture[str]
FIRST = " The first time, 'the unit before' is the start."


def sections(text: str) -> dict[str, str]:
    seen = view(text)
    assert not seen.troubles
    return {s.heading: s.intro for s in step_list(seen).sections}


def chain(units: str, piece: str) -> dict[str, str]:
    """A chain whose units all add one ring; units: their names."""
    blocks = "".join(f"unit {u}:\n  add A through prev A\n" for u in units.split())
    return sections(
        'weave "It"\nrings:\n  all  wire 1 mm, inside 6 mm, copper\nstart:\n  close A\n'
        f"{blocks}piece:\n  chain {piece}\n"
    )


def test_headings_of_units_that_take_turns() -> None:
    assert chain("x y", "9 units") == {
        "Start": "",
        "Unit x": f"Units take turns: x and y, and so on up to unit 9, which is x.{FIRST}",
        "Unit y": "Units take turns: x and y, and so on up to unit 9, which is x.",
    }
    even = "Units take turns: x and y, and so on up to unit 8."
    assert chain("x y", "8 units") == {"Start": "", "Unit x": f"{even}{FIRST}", "Unit y": even}
    own = "Units take turns: x and y, and so on up to unit 9, which is x. But unit 2 has its own"
    assert chain("x y 2", "9 units")["Unit y"] == f"{own} steps."
    both = own.replace("unit 2 has its own", "units 2 and 4 have their own")
    assert chain("x y 2 4", "9 units")["Unit y"] == f"{both} steps."
    assert chain("1 x y", "9 units") == {
        "Start": "",
        "Unit 1": "Here 'the unit before' is the start.",
        "Unit x": "Units take turns from unit 2 on: y and x, and so on up to unit 9.",
        "Unit y": "Units take turns from unit 2 on: y and x, and so on up to unit 9.",
    }


def test_headings_of_runs_say_where_to_go_on() -> None:
    assert chain("x y", "of 3 x, 2 y, 3 x") == {
        "Start": "",
        "Unit x": "Units 1 to 3: work x (step 2). Units 4 to 5: y (step 3). Units 6 to 8: x again."
        f" Then stop.{FIRST}",
        "Unit y": "Work these steps in units 4 to 5. Then go back to x, step 2, for units 6 to 8.",
    }
    assert chain("x y", "of 1 x, 4 y, 1 x, 4 y, 1 x") == {
        "Start": "",
        "Unit x": "Unit 1: work x (step 2). Units 2 to 5: y (step 3). Unit 6: x again. Units 7 to"
        f" 10: y. Unit 11: x. Then stop.{FIRST}",
        "Unit y": "Work these steps in units 2 to 5 and 7 to 10. What comes between and after is"
        " listed under 'Unit x'.",
    }
    three = chain("x y z", "of 3 x, 1 y, 3 z")
    assert (
        three["Unit y"]
        == "Work these steps in unit 4, once. Then go on to z, step 4, for units 5 to 7."
    )
    assert three["Unit z"] == "Work these steps in units 5 to 7. Then stop."


def test_headings_of_units_with_steps_of_their_own() -> None:
    assert chain("x 3", "6 units") == {
        "Start": "",
        "Every unit but unit 3": f"Work these steps in units 1 to 2 and 4 to 6.{FIRST}",
        "Unit 3": "",
    }
    assert chain("1 2 x", "6 units") == {
        "Start": "",
        "Unit 1": "Here 'the unit before' is the start.",
        "Unit 2": "",
        "Every further unit": "Go on like this up to unit 6.",
    }
    assert chain("x", "6 units") == {"Start": "", "Unit x": f"Repeat these steps 6 times.{FIRST}"}
    assert chain("x", "1 unit")["Unit x"].startswith("Work these steps once.")


GROWS = (
    "At an extra place do not go on along the row above: it goes with the same place there as the"
    " place before it."
)
SHARES = "At a shared place several places of the row above come together, side by side."
EACH = "in each row work these steps once for each of its places."


@pytest.mark.parametrize(
    ("name", "told"),
    [
        (
            "drop_earring",
            ["Work these steps 6 times along the row.",
             f"Work 4 rows like this; {EACH} Row 2: 5 places, row 3: 4, row 4: 3, row 5: 2.",
             "Work these steps once."],
        ),
        (
            "window_panel",
            ["Work these steps 10 times along the row.",
             f"Work 8 rows like this; {EACH} Work every second row the other way, back along the"
             " row above. Row 2: 10 places. Row 3: 4 places, leave 1 empty, 5 places. Row 4: 4"
             " places, leave 2 empty, 4 places. Row 5: 3 places, leave 3 empty, 4 places. Row 6: 4"
             " places, leave 2 empty, 4 places. Row 7: 4 places, leave 1 empty, 5 places. Rows 8"
             " and 9: 10 places each."],
        ),
        (
            "diamond_pendant",
            ["Work these steps once.",
             f"Work 10 rows like this; {EACH} Work every second row the other way, back along the"
             " row above. Row 2: 2 places, row 3: 3, row 4: 4, row 5: 5, row 6: 6; begin each 1"
             " place before the first of the row above. Row 7: 5 places, row 8: 4, row 9: 3, row"
             " 10: 2, row 11: 1."],
        ),
        (
            "hexagon_plate",
            ["", "Work these steps 6 times along the row.",
             f"Work 2 rows like this; {EACH} At extra places work the steps of 'Extra place'"
             " instead. Row 2: 12 places, every second one extra. Row 3: 18 places, every third one"
             " extra.",
             f"Work these steps at each extra place, instead of those of 'Row'. {GROWS}", ""],
        ),
        (
            "thimble",
            ["Work these steps 12 times along the row.",
             f"Work 5 rows like this; {EACH} The row goes round: after the last unit of the row"
             " above comes its first. At shared places work the steps of 'Shared place' instead."
             " Rows 2 to 5: 12 places each. Row 6: 6 places, each shared by two of the row above.",
             f"Work these steps at each shared place, instead of those of 'Row'. {SHARES}",
             f"Work these steps once. {SHARES} Row 7: 1 place, shared by all six of the row"
             " above."],
        ),
    ],
)  # fmt: skip
def test_headings_and_shape_words_of_the_examples(name: str, told: list[str]) -> None:
    """Each shape is as its lines under 'shape:' have it."""
    text = (EXAMPLES / f"{name}.weave").read_text(encoding="utf-8")
    assert list(sections(text).values()) == told


def test_drawer_tables_of_five_bins(folder: Path, capsys: Out) -> None:
    """61 rings make a spiral of 60 units: 130 make two, and one of 129 units. A place of the
    doubled sheet takes two flat rings of AR 7.5, so 500 are 250 places."""
    for name in ("spiral_4", "japanese_12"):
        text = (LIBRARY / f"{name}.weave").read_text(encoding="utf-8")
        (folder / f"{name}.weave").write_text(text, encoding="utf-8")
    (folder / "my.csv").write_text(
        "ring,wire,inside,count\nbin1,1.2 mm,4.8 mm,130\nbin2,1.2 mm,5.1 mm,20\n"
        "bin3,1 mm,7 mm,1000\nbin4,0.8 mm,4 mm,2000\nbin5,1.2 mm,9 mm,500\n",
        encoding="utf-8",
    )
    words = ["sizes", "spiral_4.weave", "japanese_12.weave", "--stock", "my.csv"]
    assert main(words) == 0
    short = " ".join(capsys.readouterr().out.split())
    assert main([*words, "--every-ring"]) == 0
    long = " ".join(capsys.readouterr().out.split())
    for out in (short, long):
        assert (
            "spiral_4.weave bin1 1.2 × 4.8 4.00 2 japanese_12.weave bin5 for flat 1.2 × 9 7.50 5"
            " bin4 for across, down and aslant 0.8 × 4 5.00 - AR is the inside" in out
        )
    assert "the others are told by --every-ring, with the reasons" in short
    assert "EVERY SET" not in short
    assert "the others stand below" in long
    assert "spiral_4.weave bin1 4.00 3.5 2 129 bin2 4.25 3.5 0 19 japanese_12.weave bin5" in long
    assert "bin4 for across, down and aslant 7.50, 5.00 5.61, 3.67 5 250 - from" in long
    assert (
        "spiral_4.weave, loose: bin3 (7.00); bin4 (5.00); bin5 (7.50): over AR 4.5 (common practice"
        " no source)" in long
    )
    assert "japanese_12.weave, not known: bin1 for flat, bin4 for across, down and aslant" in long
    assert "japanese_12.weave, tight: bin3 for flat, bin4 for across, down and aslant (7.0" in long
    assert "spiral_4.weave: AR 3.5 to 4.5 (common practice no source)" in long
    assert (
        "flat (1.2 × 9 mm) AR from 5.61 with across, down and aslant (0.8 × 4 mm) AR from 3.66"
        " (computed for these sizes together, no upper bound) - where rings of two sizes" in long
    )
