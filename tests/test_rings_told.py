"""What is said of sizes that cannot be, of rings that stay closed, and of names given twice."""

from __future__ import annotations

import pytest
from helpers import findings, underlined
from small_recipes import recipe

from ringstep.language.findings import typed_in

PLAIN = "expect:/A meets 2/start:/close A/unit:/add A through prev A/piece:/chain 9 units"
ALL = "all  wire 1 mm, inside 6 mm, copper"
GUM = f"{ALL}/gum  wire 1.6 mm, inside 6 mm, rubber, stays closed"
A1 = "A1  wire 1 mm, inside 5 mm, copper"
BEAD = f"parts:/bead  glass, {{}}/{PLAIN}/finish:/add A through last A, bead"
LIKE = "write it like: core  wire 1.2 mm, inside 5 mm, copper"
CHANGED = "'inside' is the inside diameter; wire and inside may have changed places"
FIRST = "the size of the part stands first: 'bead  glass, 4 mm, hole 1 mm'"
ABOVE = "write the size in mm, above zero"
OFF = "take 'stays closed' off line 4, if it opens after all"
STAYS = (4, "this line says that it stays closed")
KEEP = "keep one of the two lines"


def turns(steps: str, start: str = "close A") -> str:
    return f"start:/{start}/unit:/{steps}/piece:/chain 9 units"


def many(count: int) -> str:
    return turns(f"add {count} A through prev A", f"close {count} A")


#: A rule's file; the lines of 'rings:'; the rest; and each that is told: what is underlined, what
#: is said, the line and words of what is shown beside it, and what to do.
TOLD = [
    # sizes, wherever they stand
    ("size", "all  wire 0 mm, inside 5 mm, copper", PLAIN,
     [("0 mm", "a size of 0 mm cannot be", None, [ABOVE])]),
    ("size", "all  wire 1 mm, inside 0 mm, copper", PLAIN,
     [("0 mm", "a size of 0 mm cannot be", None, [ABOVE])]),
    ("size", "all  wire 99 swg, inside 5 mm, copper", PLAIN,
     [("99 swg", "'99 swg' cannot be: SWG numbers run from 7/0 to 50", None,
       ["write the size of this wire in mm"])]),
    ("size", ALL, PLAIN.replace("9 units", "0 mm/sample 10 units = 0 mm"),
     [("0 mm", "a size of 0 mm cannot be", None, [ABOVE])] * 2),
    ("size", ALL, BEAD.format("0 mm, hole 3.9 mm"),
     [("0 mm", "a size of 0 mm cannot be", None, [ABOVE])]),
    # sizes that lack, and openings that are none
    ("size", "all  wire 1.2 mm, copper", PLAIN,
     [("all  wire 1.2 mm, copper", "the line of 'all' gives no inside size", None, [LIKE])]),
    ("size", "all  inside 6 mm, copper", PLAIN,
     [("all  inside 6 mm, copper", "the line of 'all' gives no wire size", None, [LIKE])]),
    ("size", "all  copper", PLAIN,
     [("all  copper", "the line of 'all' gives no wire and no inside size", None, [LIKE])]),
    ("size", "all  wire 5 mm, inside 5 mm, copper", PLAIN,
     [("5 mm", "the opening of 'all' (5 mm) is no wider than its wire (5 mm)", None, [CHANGED])]),
    ("size", "all  wire 5 mm, inside 5.1 mm, copper", PLAIN, []),
    ("size", ALL, f"sizes:/small  all  wire 1 mm, inside 0.9 mm/{PLAIN}",
     [("0.9 mm", "the opening of 'all' (0.9 mm) is no wider than its wire (1 mm)", None,
       [CHANGED])]),
    ("size", ALL, BEAD.format("4 mm, hole 5 mm"),
     [("5 mm", "the hole of 'bead' (5 mm) is no narrower than the part (4 mm)", None, [FIRST])]),
    ("size", ALL, BEAD.format("4 mm, hole 4 mm"),
     [("4 mm", "the hole of 'bead' (4 mm) is no narrower than the part (4 mm)", None, [FIRST])]),
    ("size", ALL, BEAD.format("4 mm, hole 3.9 mm"), []),
    # rings without a line: each role once, and of one role those that lack it
    ("size", "B  wire 1 mm, inside 5 mm, copper",
     turns("add B through prev A/add A through B/add D through A"),
     [("A", "no line of 'rings:' gives the size of A", None,
       ["add 'A  wire … mm, inside … mm, copper', or a line for 'all'"]),
      ("D", "no line of 'rings:' gives the size of D", None,
       ["add 'D  wire … mm, inside … mm, copper', or a line for 'all'"])]),
    *[("size", A1, many(count),
       [(f"{count} A", f"no line of 'rings:' gives the size of {lack}", None,
         ["add 'A2  wire … mm, inside … mm, copper', or a line for 'A', for all that have none"])])
      for count, lack in [(2, "A2"), (4, "A2, A3 and A4"), (5, "A2, A3 and A4 and 1 more ring"),
                          (7, "A2, A3 and A4 and 3 more rings")]],
    # rings that stay closed are closed first, and the other ring is opened, where that can be
    ("stays_closed", GUM, turns("add gum through prev A/add A through gum"),
     [("add gum through prev A", "step 2 opens gum, which stays closed", STAYS,
       ["either: write 'close gum' and open A of the unit before instead: 'reopen prev A through"
        " gum'", f"or: {OFF}"])]),
    ("stays_closed", GUM, turns("add 2 gum through prev A picks 1/add A through gum"),
     [("add 2 gum through prev A picks 1", "step 2 opens gum 1, which stays closed", STAYS,
       ["either: write 'close 2 gum' and open A of the unit before instead: 'reopen prev A through"
        " gum picks 2'", f"or: {OFF}"])]),
    ("stays_closed", GUM,
     turns("add gum through prev A1, prev A2 picks 2/add 2 A through gum", "close 2 A"),
     [("add gum through prev A1, prev A2 picks 2", "step 2 opens gum, which stays closed", STAYS,
       ["either: write 'close gum' and open those rings instead: 'reopen prev A1 through gum picks"
        " 1'", f"or: {OFF}"])]),
    ("stays_closed", GUM,
     turns("add gum1 through prev A/add gum2 through prev A/add A through gum1, gum2 picks 2"),
     [("add gum1 through prev A", "step 2 opens gum 1, which stays closed, and so does step 3",
       STAYS, [f"to mend: {OFF}"])]),
    ("stays_closed", GUM,
     turns("add gum1 through prev A/add gum2 through prev A/add gum3 through prev A/"
           "add A through gum"),
     [("add gum1 through prev A", "step 2 opens gum 1, which stays closed, and so do steps 3 and 4",
       STAYS, [f"to mend: {OFF}"])]),
    ("stays_closed", GUM, turns("close gum/add A through prev A, gum picks 2/reopen gum"),
     [("reopen gum", "step 4 opens gum, which stays closed", STAYS, [f"to mend: {OFF}"])]),
    ("stays_closed", GUM, turns("add gum through prev A lay front/add A through gum"),
     [("add gum through prev A lay front", "step 2 opens gum, which stays closed", STAYS,
       [f"to mend: {OFF}"])]),
    # two lines for one name, each but the first told
    ("name_twice", "/".join(f"A  wire 1 mm, inside {n} mm, copper" for n in (5, 6, 7)), PLAIN,
     [("A", "'A' is described twice", None, [KEEP])] * 2),
    ("name_twice", f"{ALL}/{ALL}", PLAIN, [("all", "'all' is described twice", None, [KEEP])]),
    ("name_twice", ALL, f"parts:/bead  steel/{BEAD.format('4 mm').removeprefix('parts:/')}",
     [("bead", "'bead' is described twice", None, [KEEP])]),
    # rings that their unit has already
    ("name_twice", ALL, PLAIN.replace("prev A", "prev A/add A through prev A"),
     [("A", "step 3 places A1 a second time", (9, "A1 is placed here already"),
       ["to mend: take step 3 out, which repeats step 2"])]),
    ("name_twice", ALL, turns("add 2 A through prev A/add B through A/add 2 A through B",
                              "close 2 A"),
     [("2 A", "step 4 places A1 and A2 a second time", (7, "A1 is placed here already"),
       ["to mend: take step 4 out"])]),
    ("name_twice", ALL, turns("add 2 A through prev A/add B through A/add A3, A1 through B",
                              "close 2 A"),
     [("A1", "step 4 places A1 a second time", (7, "A1 is placed here already"),
       ["to mend: take step 4 out"])]),
    ("name_twice", ALL, turns("add A1, A1 through prev A", "close 2 A"),
     [("A1", "step 2 places A1 a second time", None, ["to mend: write 'A2' in step 2"])]),
    ("name_twice", ALL, "expect:/A meets 4/" + turns("add A1 through prev A/add A1 through prev A",
                                                     "close 2 A"),
     [("A1", "step 3 places A1 a second time", (9, "A1 is placed here already"),
       ["to mend: write 'A2' in step 3"])]),
    ("name_twice", ALL, "expect:/A meets 4/" + turns("add 2 A through prev A",
                                                     "close A1/close A1"),
     [("A1", "step 2 places A1 a second time", (7, "A1 is placed here already"),
       ["to mend: step 2 is one too many; take step 2 out, which repeats step 1",
        "as likely: write 'A2' in step 2"])]),
    # no change mends it: the first number that is free
    ("name_twice", ALL, "expect:/A meets 9/B meets 7/"
     + turns("add 2 A through prev A/add B through A/add A2 through B", "close 2 A"),
     [("A2", "step 4 places A2 a second time", (10, "A2 is placed here already"),
       ["give it a name of its own, such as 'A3'"])]),
]  # fmt: skip

RULES = {"size": "ring-size", "stays_closed": "opens-closed-ring", "name_twice": "name-twice"}


@pytest.mark.parametrize(("stem", "rings", "rest", "told"), TOLD)
def test_what_is_said_of_rings(
    stem: str,
    rings: str,
    rest: str,
    told: list[tuple[str, str, tuple[int, str] | None, list[str]]],
) -> None:
    text = recipe(rest, "rings:\n" + "".join(f"  {line}\n" for line in rings.split("/")))
    found = [f for f in findings(text) if f.rule.name == RULES[stem]]
    got = [
        (underlined(text, f), f.message, [(x.span.line, x.text) for x in f.labels], list(f.help))
        for f in found
    ]
    assert got == [
        (item, message, [beside] if beside else [], help) for item, message, beside, help in told
    ]
    for finding in found:
        for mend in finding.mends:
            after = "\n".join(typed_in(tuple(text.splitlines()), mend.edits)) + "\n"
            assert finding.message not in [f.message for f in findings(after)]


def test_a_name_twice_says_where_it_is_first() -> None:
    rings = "".join(f"  A  wire 1 mm, inside {n} mm, copper\n" for n in (5, 6, 7))
    found = [f for f in findings(recipe(PLAIN, f"rings:\n{rings}")) if f.rule.name == "name-twice"]
    assert [(f.span.line, f.here) for f in found] == [
        (4, "first on line 3"), (5, "first on line 3"),
    ]  # fmt: skip
