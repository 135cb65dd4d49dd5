"""Names that lead to no ring: what is said of each, what to do, and that a mend typed in helps.

Who holds the work may find nothing at a name because of the place it is sought at, the number it
has, the order of steps, an edge, or because no step places it; each is said otherwise.
"""

from __future__ import annotations

import pytest
from helpers import findings, underlined
from small_recipes import recipe

from ringstep.language.findings import Finding, typed_in

PLAIN = "expect:/A meets 2/start:/close A/unit:/add A through prev A/piece:/chain 5 units"
HELD = (
    "expect:/A meets 4/start:/close 2 H/add 2 A through H picks 2/unit:/add 2 A through prev A"
    " picks 2/piece:/chain 5 units"
)
FROM_H = "start:/close H/add A through H/unit:/add A through prev A/piece:/chain 5 units"
TURNS = (
    "start:/close H/add A through H/unit a:/add A through {}/unit b:/add B through prev A/"
    "add A through B/piece:/chain of 6 a, 3 b"
)
BEAD = "parts:/bead  glass, hole 2 mm/"
SHEET = "expect:/A meets 4/first row:/close A/row:/add A through {}/piece:/sheet 5 rows of 6 units"


def wrong(body: str) -> tuple[str, Finding]:
    """The recipe, and the one thing that is said of a name in it."""
    text = recipe(body)
    (found,) = [f for f in findings(text) if f.rule.name == "ring-not-there"]
    return text, found


#: A recipe; what is underlined; what is said first; and what to do, '…' where rivals follow.
TOLD = [
    # in the finish nothing is 'of this unit'
    (f"{HELD}/finish:/take out H", "H", "step 4 takes out H of the finish, which has none",
     ["H is placed in step 1 (line 7)", "to mend: write 'first H'"]),
    (f"{HELD}/finish:/take out H2", "H2", "step 4 takes out H2 of the finish, which has none",
     ["H2 is placed in step 1 (line 7)", "to mend: write 'first H2'"]),
    (f"{HELD}/finish:/take out last H", "last H",
     "step 4 takes out H of the last unit, which has none",
     ["H is placed in step 1 (line 7)", "to mend: write 'first H'"]),
    (f"{HELD}/finish:/reopen A", "A", "step 4 opens A of the finish, which has none",
     ["A is placed in step 2 (line 8)", "for the ring of the start, write 'first A'"]),
    (f"{FROM_H}/finish:/add E through H, last A", "H",
     "step 4 goes through H of the finish, which has none",
     ["H is placed in step 1 (line 5)", "for the ring of the start, write 'first H'",
      "most likely: H is too many; write 'through last A'"]),
    (f"{FROM_H.replace('unit:', 'unit:/add B through prev A')}/finish:/add E through B, last A",
     "B", "step 5 goes through B of the finish, which has none",
     ["B is placed in step 3 (line 8)", "for the one of the last unit, write 'last B'",
      "most likely: B is too many; write 'through last A'"]),
    # the start has other rings than the units, and units that take turns have other rings
    (TURNS.format("prev A, B"), "B", "step 3 goes through B of this unit, which has none",
     ["B is placed in unit b alone, in step 4 (line 10)",
      "most likely: B is too many; write 'through prev A'"]),
    (TURNS.format("prev A, prev B"), "prev B", "step 3 goes through B of the start, which has none",
     ["B is placed in unit b alone, in step 4 (line 10)",
      "most likely: B of the unit before is too many; write 'through prev A'"]),
    (TURNS.format("prev A").replace("through B", "through prev B"), "prev B",
     "step 5 goes through B of the unit before, which has none",
     ["B is placed in step 4 (line 10)",
      "either: 'prev B' is meant to be B; write 'through B'",
      "or: 'prev B' is meant to be A of the unit before; write 'through prev A'"]),
    # a number that is not there
    (f"{HELD}/finish:/add E through first H3", "first H3",
     "step 4 goes through H3 of the start, and there is no such ring",
     ["there are H1 and H2",
      "either: 'first H3' is meant to be H at the beginning; write 'through first H picks 2'",
      "or: 'first H3' is meant to be A at the beginning; write 'through first A picks 2'"]),
    (PLAIN.replace("prev A", "prev A2"), "prev A2",
     "step 2 goes through A2 of the start, and there is no such ring",
     ["there is A",
      "most likely: 'prev A2' is meant to be A of the unit before; write 'through prev A'"]),
    # a part that the start picks up is in the start alone
    (f"{BEAD}start:/add A through bead/unit:/add A through prev A, prev bead/piece:/chain 5 units",
     "prev bead", "step 2 goes through bead of the unit before, which has none",
     ["bead is in the start: write 'first bead'"]),
    (f"{BEAD}expect:/A meets 3/bead meets 7/start:/add A through bead/unit:/add A through prev A,"
     " prev bead/piece:/chain 5 units",
     "prev bead", "step 2 goes through bead of the unit before, which has none",
     ["most likely: bead is missing; write 'through prev A, prev bead, bead'"]),
    # no step has it
    (f"{BEAD}{PLAIN}/finish:/add E through last bead, last A", "last bead",
     "step 3 goes through bead, and no step places a ring of that name",
     ["rings in this recipe: A and E"]),
    ("unit:/close A through Q/piece:/chain 5 units", "Q",
     "step 1 goes through Q, and no step places a ring of that name", ["rings in this recipe: A"]),
    # counts before a name
    (f"{HELD}/finish:/add E through every 2 A", "every 2 A",
     "'every 2 A' counts, and 'every' is all of them",
     ["write 'every A'; the count goes behind: 'picks 2'",
      "most likely: 'every A' is meant to be every H; write 'through every H picks 2'"]),
    (HELD.replace("prev A", "prev 3 A"), "prev 3 A", "'prev 3 A' could mean two things",
     ["for the unit three before, write 'prev prev prev A'",
      "for A of the unit before, write 'prev A'"]),
    (f"{HELD}/finish:/add E through next 2 A", "next 2 A", "'next 2 A' could mean two things",
     ["for the unit two after, write 'next next A'", "for A of the unit after, write 'next A'",
      "…"]),
    # words of place that have no sense there
    (PLAIN.replace("prev A", "prev above A"), "prev above A",
     "step 2 says 'prev above A', which is no place in this piece",
     ["'above' is a word for sheets and tubes",
      "most likely: 'prev above A' is meant to be A of the unit before; write 'through prev A'"]),
    (SHEET.format("every A"), "every A", "step 2 says 'every A', which is no place in this piece",
     ["'every' stands alone, after 'through', in 'row end:' and 'finish:'"]),
    # off the piece
    ("unit:/add A through prev prev A/piece:/chain 5 units", "prev prev A",
     "step 1 reaches for 'prev prev A', and the piece does not go that far",
     ["to mend: write 'through prev A if there'"]),
    (f"{PLAIN}/finish:/add E through first prev A", "first prev A",
     "step 3 reaches for 'first prev A', and the piece does not go that far",
     ["to mend: write 'through prev A'"]),
    # an edge that each row leaves out is told of the step, once
    (SHEET.format("above A, above next A skip at edge"),
     "add A through above A, above next A skip at edge",
     "row 3 reaches for a ring that row 2 left out at its edge: each row is narrower than the one"
     " above",
     ["for rows that stay as wide, write 'if there' behind the item that the edge lacks, in place"
      " of 'skip at edge'",
      "for rows that grow narrower, take 'skip at edge' out and say so under 'shape:', as in 'rows"
      " 2 to 6  each 1 less'"]),
]  # fmt: skip


@pytest.mark.parametrize(("body", "item", "message", "help"), TOLD)
def test_a_name_that_leads_to_no_ring(body: str, item: str, message: str, help: list[str]) -> None:
    text, found = wrong(body)
    assert (underlined(text, found), found.message) == (item, message)
    many = help[-1] == "…"
    assert list(found.help[: len(help) - 1] if many else found.help) == help[: len(help) - many]
    assert not found.labels
    for mend in found.mends:
        after = "\n".join(typed_in(tuple(text.splitlines()), mend.edits)) + "\n"
        assert message not in [f.message for f in findings(after)]


@pytest.mark.parametrize(
    ("body", "message", "line", "label", "help"),
    [
        (f"{HELD}/finish:/take out first A1/take out first H/add E through first H",
         "step 6 goes through H, which has been taken out", "take out first H",
         "H is taken out here", "name a ring that is still in the work, or take it out later"),
        (f"{PLAIN}/finish:/add E through last A, F2/add 2 F through first A",
         "step 3 goes through F2, which is placed only in step 4", "add 2 F through first A",
         "F2 is placed here", "to mend: write 'through last A'"),
        (PLAIN.replace("prev A", "prev A, B/add 2 B through A"),
         "step 2 goes through B1, which is placed only in step 3", "add 2 B through A",
         "B1 is placed here", "to mend: write 'through prev A'"),
        # nothing helps: the ring is wanted, and the step that places it wants one that it places
        ("expect:/A meets 2/B meets 1/start:/close A, C/unit:/add A through prev A, B1/add 2 B"
         " through prev B/piece:/chain 5 units",
         "step 2 goes through B1, which is placed only in step 3", "add 2 B through prev B",
         "B1 is placed here", "move step 3 up, or write 'prev B1' for the unit before"),
    ],
)  # fmt: skip
def test_what_takes_a_ring_away_or_brings_it_too_late_is_shown(
    body: str, message: str, line: str, label: str, help: str
) -> None:
    text = recipe(body)
    found = next(f for f in findings(text) if f.rule.name == "ring-not-there")
    assert (found.message, found.help[0]) == (message, help)
    (shown,) = found.labels
    assert shown.text == label
    assert text.splitlines()[shown.span.line - 1].strip() == line


@pytest.mark.parametrize(
    ("placed", "wanted", "apart"),
    [
        ("Bb", "B", ""),
        ("BI", "Bl", "'BI' has the capital letter 'I', the name looked for is 'Bl' with the small"
         " letter 'l'"),
        ("B0", "BO", "'B0' has the figure '0', the name looked for is 'BO' with the capital letter"
         " 'O'"),
    ],
)  # fmt: skip
def test_a_name_misspelt_where_it_is_placed(placed: str, wanted: str, apart: str) -> None:
    body = f"expect:/A meets 2/{wanted} meets 2/start:/close A/unit:/add {placed} through prev A/"
    text, found = wrong(f"{body}add A through {wanted}/piece:/chain 5 units")
    assert found.message == f"step 2 places '{placed}', and '{wanted}' is looked for"
    assert underlined(text, found) == placed
    assert found.help == (*([apart] if apart else []), f"to mend: write '{wanted}' in step 2")
    (label,) = found.labels
    assert (label.span.line, label.text) == (11, "step 3 goes through it")
    (mend,) = found.mends
    after = typed_in(tuple(text.splitlines()), mend.edits)
    assert after[9] == f"  add {wanted} through prev A"
    assert not [f for f in findings("\n".join(after) + "\n") if f.severity == "error"]


def test_a_part_may_stand_in_a_line_that_was_not_read() -> None:
    """What is placed by a step is no part, and is told as ever."""
    clasp = PLAIN.replace("start:", "parts:/clasp xx ,,, ??/start:")
    rules = [f.rule.name for f in findings(recipe(f"{clasp}/finish:/add E through last A, clasp"))]
    assert rules == ["unread-line"]
    for wanted in ("A, clasp", "clasp, A"):
        text, found = wrong(f"{clasp}/finish:/add E through {wanted}")
        assert underlined(text, found) == "A"


def test_a_row_that_is_not_as_narrow_as_one_above_shows_both_and_the_line_that_ends_above() -> None:
    shape = "/shape:/row 2  1 less/row 3  1 less/row 5  1 less"
    text, found = wrong(SHEET.format("above A, above next A") + shape)
    assert found.message == "step 2 reaches for 'above next A', and the piece does not go that far"
    (label,) = found.labels
    assert label.text == "row 4 has 4 places, row 3 has 4"
    assert text.splitlines()[label.span.line - 1] == "  row 3  1 less"
    assert found.help[0] == "if row 4 is narrower too, write 'rows 3 to 4  each 1 less'"
    after = "\n".join(typed_in(tuple(text.splitlines()), found.mends[0].edits)) + "\n"
    assert findings(after) == ()


@pytest.mark.parametrize(
    ("body", "help"),
    [
        ("first row:/close A/row:/add A through above next 2 A if there, above A if there"
         "/piece:/sheet 4 rows of 6 units",
         ["for the unit two after, write 'above next next A'",
          "for A of the unit after, write 'above next A'"]),
        ("start:/close A/unit:/add 2 A through prev A/piece:/chain 6 units"
         "/finish:/add R through last prev 2 A picks 2",
         ["for the unit two before, write 'last prev prev A'",
          "for A of the unit before, write 'last prev A'"]),
        ("start:/close A/unit:/add 2 A through prev A/piece:/chain 6 units"
         "/finish:/add R through last 2 A picks 2",
         ["write 'last A', which means all A of the unit; the count goes behind: 'picks 2'"]),
        # a sheet has no unit before its first to which a start could give a ring
        ("row:/close A/add B through prev A/piece:/sheet 4 rows of 6 units",
         ["write 'prev A if there' to leave it out where the piece ends",
          "or 'skip at edge' to leave the whole step out there"]),
    ],
)  # fmt: skip
def test_what_is_written_keeps_its_other_words_of_place(body: str, help: list[str]) -> None:
    found = [f for f in findings(recipe(body)) if f.rule.name == "ring-not-there"]
    assert [list(f.help) for f in found] == [help]
