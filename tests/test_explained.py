"""What explains faults, and which of them is told: causes, promises that were meant otherwise, one
odd link, and what a change of the text leaves."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from helpers import findings, view
from small_recipes import recipe, weave
from test_changes_typed import ref_of, step_at, tree_of

from ringstep.checks.diagnosis import Cause, Diagnosis, NotAsked, Unexplained, speaker
from ringstep.checks.edits import AddRing, DropStep, ReplaceRing, SwapNames
from ringstep.checks.faults import (
    FallsApart,
    Fault,
    LooseRings,
    Miscounted,
    MissedLink,
    OffPromise,
    Snagged,
    find_faults,
)
from ringstep.checks.odd_link import odd_links, unstated
from ringstep.checks.promises import promise_edits
from ringstep.checks.trial import Trial
from ringstep.checks.view import View, comes_right, with_typed
from ringstep.checks.wording import (
    cause_words,
    guess,
    headline,
    likely_offer,
    mend_offer,
    place_of,
    to_type,
)
from ringstep.language.findings import TextEdit
from ringstep.language.syntax import Step
from ringstep.weave.work import Ring

# -- a promise that was meant otherwise ------------------------------------------------------------


def promised(body: str) -> list[tuple[str, ...]]:
    """The lines that each promise not kept would have to read."""
    made = weave(body)
    return [edit.lines for edit in promise_edits(made, find_faults(made))]  # type: ignore[union-attr]


PAIRS = "start:/close 2 A/unit:/add 2 A through prev A/add B through A1/piece:/chain 9 units"


@pytest.mark.parametrize(
    ("expect", "lines"),
    [
        # every A meets four, and A1 a B as well
        ("A meets 3/B meets 1", [("A1 meets 5", "A2 meets 4")]),
        ("A1 meets 3/A2 meets 4/B meets 1", [("A1 meets 5",)]),
        ("A1 meets 5/A meets 5/B meets 1", [("A meets 4",)]),
        ("A1 meets 5/A2 meets 4/B meets 2", [("B meets 1",)]),
        ("A1 meets 4/A2 meets 5/B meets 2", [("A1 meets 5",), ("A2 meets 4",), ("B meets 1",)]),
        # in the manner in which it was promised, and with the choices that it had
        ("A1 meets 4 A/A2 meets 4/B meets 1", [("A1 meets 4 A, 1 B",)]),
        ("A1 meets 3 or 4/A2 meets 4/B meets 1", [("A1 meets 3 or 4 or 5",)]),
        # of a promise for all rings nobody can say which of them was meant
        ("all meets 3/B meets 1", []),
        ("all 3 meets 3/A1 meets 5/A2 meets 4/B meets 1", []),
    ],
)
def test_a_promise_reads_what_its_rings_meet(expect: str, lines: list[tuple[str, ...]]) -> None:
    assert promised(f"expect:/{expect}/{PAIRS}") == lines


def test_a_promise_of_rings_that_meet_this_and_that_is_none_to_change() -> None:
    """The A in the middle meet two, those of the jewel one A and the jewel: none is all of them."""
    body = (
        "expect:/A meets 3 A/start:/close A/unit cord:/add A through prev A/unit jewel:"
        "/add sun through prev A/add A through sun/piece:/chain of 3 cord, jewel, 3 cord"
    )
    assert promised(body) == []


def test_more_rings_of_its_own_name_than_there_are_point_to_a_step_forgotten() -> None:
    """A chain of nine units and the start has ten A: each can meet nine others."""
    chain = "expect:/A meets {} A/start:/close A/unit:/add A through prev A/piece:/chain 3 units"
    assert promised(chain.format(3)) == [("A meets 2 A",)]
    assert promised(chain.format(4)) == []


def test_what_only_row_ends_hang_may_be_forgotten_in_the_row() -> None:
    rows = (
        "expect:/A meets 5/first row:/close A/row:/add A through above A, above next A if there"
        "/row end:/add {} through last A, first A picks 2/piece:/sheet 4 rows of 5 units"
    )
    assert promised(rows.format("E")) == []
    assert promised(rows.format("A")) != []
    plain = rows.replace("/row end:/add {} through last A, first A picks 2", "")
    assert promised(plain) == [("A meets 4",)]


# -- one link that was not meant -------------------------------------------------------------------

LINKED = (
    "expect:/M meets 1 M, 6 S/S meets 6 M/start:/close 2 H/add M1 through H picks 2"
    "/add M2 through H, M1 picks 3 lay front/add 2 S through M picks 2/unit:"
    "/add M1 through prev S picks 2/add M2 through prev S, {} picks 3{}/add 2 S through M, prev M"
    " picks 4/finish:/take out first H/piece:/chain 9 units"
)


def odd(body: str) -> list[tuple[int, str]]:
    made = weave(body)
    return [(e.step.number, to_type(made.recipe, e)) for e in odd_links(made)]


def test_a_ring_of_the_unit_before_named_for_one_of_this_is_seen_by_the_lays_it_owes() -> None:
    """Every count is kept; M2 and the M1 before it link one another, so that the S owe a lay."""
    slip = LINKED.format("prev M1", " lay front")
    assert find_faults(weave(slip)) == []
    assert unstated(weave(slip)) == {7}
    assert odd(slip) == [(6, "write 'through prev S, M1'")]
    assert odd(LINKED.format("prev M2", " lay front")) == [], "M1 would still meet no M"
    right = LINKED.format("M1", " lay front")
    assert unstated(weave(right)) == set()
    assert odd(right) == []


def test_nothing_is_odd_where_no_lay_is_owed_or_the_lay_alone_is_left_out() -> None:
    assert unstated(weave(LINKED.format("M1", ""))) == {6}
    assert odd(LINKED.format("M1", "")) == []
    # it could as well hang on the ring before, but nothing speaks for that
    assert (
        odd("start:/close A/unit:/add A through prev A/add B through A/piece:/chain 5 units") == []
    )
    # where nothing is promised, either list may be as it is meant
    lone = "start:/close A/unit:/add A through prev A, prev prev A if there/piece:/chain 9 units"
    assert odd(lone) == []


HELD = (
    "expect:/A meets 5 A/start:/close H/add A1 through H/add A2 through {}/unit:"
    "/add A1 through prev A picks 2/add A2 through prev A, A1 picks 3 lay front/piece:"
    "/chain 9 units"
)


def test_a_list_that_owes_a_lay_may_have_a_ring_too_many_of_which_no_promise_speaks() -> None:
    """Without H in it nothing is owed; without A1 the pair of the start would not be linked."""
    assert odd(HELD.format("H, A1 picks 2")) == [(3, "write 'through A1 picks 1'")]
    assert odd(HELD.format("A1, H picks 2")) == [(3, "write 'through A1 picks 1'")]
    assert odd(HELD.format("A1 picks 1")) == []
    assert odd(HELD.replace("expect:/A meets 5 A/", "").format("H, A1 picks 2")) == []


# -- what a change of the text leaves --------------------------------------------------------------

SHORT = "expect:/A meets 4/start:/close 2 A/unit:/add 2 A through {}/piece:/chain 9 units"


#: A piece that is carried out place by place.
TAPER = (
    "first row:/close A/row:/add A through above A, above next A/piece:/sheet 3 rows of 6 units"
    "/shape:/rows 2 to 3  each 1 less"
)


def edit_of(text: str, was: str, now: str) -> tuple[TextEdit, ...]:
    """A change of the only place in a text that reads so."""
    (line,) = (n for n, x in enumerate(text.split("\n"), 1) if was in x)
    at = text.split("\n")[line - 1].index(was) + 1
    return (TextEdit(line, at, line, at + len(was), now),)


def nothing(_: View) -> Iterator[str]:
    yield from ()


def something(_: View) -> Iterator[str]:
    yield "something"


def test_a_change_comes_right_where_it_leaves_nothing_wrong_with_links_or_text() -> None:
    text = recipe(SHORT.format("prev A1"))
    seen = view(text)
    right, read = edit_of(text, "prev A1", "prev A"), edit_of(text, "prev A1", "prev A if so")
    other = edit_of(text, "prev A1", "prev A2")
    assert comes_right(seen, right)
    assert comes_right(seen, right, nothing)
    assert not comes_right(seen, right, something)
    assert not comes_right(seen, other), "the counts are still off"
    assert not comes_right(seen, read), "it cannot be read"
    taper = recipe(TAPER)
    assert comes_right(view(taper), edit_of(taper, "of 6 units", "of 8 units"))
    assert not comes_right(view(taper), edit_of(taper, "of 6 units", "of 9000000 units")), (
        "it takes long"
    )
    tried = with_typed(seen, right)
    assert tried is not None
    assert tried.faults == []
    seen.on_trial = True
    assert with_typed(seen, right) is None
    assert not comes_right(seen, right), "while one change is tried no other is"


def test_a_count_that_is_mistyped_comes_right_by_the_right_count_alone() -> None:
    text = recipe(SHORT.format("prev A picks 3"))
    assert comes_right(view(text), edit_of(text, "picks 3", "picks 2"))
    assert not comes_right(view(text), edit_of(text, "picks 3", "picks 4"))


JOINED = (
    "expect:/A meets 2/piece strap:/chain 4 units/made twice/start:/close A/unit:"
    "/add A through prev A{}/join:/add k through strap 1 last A, strap 2 first A picks 2"
    "/add k through strap 2 last A, strap 1 first A picks {}"
)


def test_a_change_of_a_piece_made_first_must_leave_the_whole_right() -> None:
    text = recipe(JOINED.format(" picks 2", 2))
    (piece,) = view(text).pieces
    assert comes_right(piece, edit_of(text, "prev A picks 2", "prev A picks 1"))
    wrong = recipe(JOINED.format(" picks 2", 3))
    (piece,) = view(wrong).pieces
    assert not comes_right(piece, edit_of(wrong, "prev A picks 2", "prev A picks 1"))
    asked: list[str] = []

    def asks(of: View) -> Iterator[str]:
        asked.append(str(of.recipe.of))
        yield from ()

    (piece,) = view(text).pieces
    assert comes_right(piece, edit_of(text, "prev A picks 2", "prev A"), asks)
    assert comes_right(view(text), edit_of(text, "prev A picks 2", "prev A"), asks)
    assert asked == [str(piece.recipe.of), str(view(text).recipe.of)]
    assert asked[0] != asked[1]


def test_of_two_pieces_alike_but_for_one_link_the_same_is_told() -> None:
    """Two changes make the same piece where their links are the same, whichever step makes them."""
    made = weave(SHORT.format("prev A"))
    again, other = weave(SHORT.format("prev A1, prev A2")), weave(SHORT.format("prev A1"))
    step = made.recipe.steps()[0]
    one, same, less = (Trial(DropStep(step), w, ()) for w in (made, again, other))
    assert one.alike(same)
    assert not one.alike(less)
    assert len(less.linked) == sum(map(len, other.work.links.values())) / 2


def test_errors_and_promises_without_a_ring_count_against_a_change_and_warnings_do_not() -> None:
    """Line 5 promises what no ring is held to, and step 2 in line 9 owes a lay."""
    chain = "start:/close A/unit:/add A through {}/piece:/chain 9 units"
    idle = weave("expect:/Z meets 4/A meets 2/" + chain.format("prev A"))
    found = Trial.bare_errors(idle)
    assert {line for _, line in found} == {5}
    assert Trial.bare_errors(weave(SHORT.format("prev A"))) == frozenset()
    # that the counts are off is for those who speak of links
    assert Trial.bare_errors(weave(SHORT.format("prev A1"))) == frozenset()
    owing = weave("expect:/A meets 4/" + chain.format("prev A, prev prev A if there"))
    trial = Trial(DropStep(owing.recipe.steps()[0]), owing, ())
    assert trial.errors() == {("lay-unstated", 9)}


# -- what explains faults, and which of them tells of it -------------------------------------------


def faults_of(body: str) -> tuple[list[Fault], list[Step]]:
    made = weave(body)
    return find_faults(made), made.recipe.steps()


def kinds(found: Iterator[tuple[Fault, Cause | None]]) -> list[tuple[str, bool]]:
    return [(type(f).__name__, cause is not None) for f, cause in found]


LOOSE = SHORT.format("prev A1 picks 2")


def test_one_cause_is_told_by_one_fault_and_what_follows_is_not() -> None:
    faults, (_, second) = faults_of(LOOSE)
    assert [type(f) for f in faults] == [Miscounted, OffPromise, OffPromise, LooseRings]
    every = frozenset(f.key for f in faults)
    edit = DropStep(second)
    cause = Cause(edit, (), every, speaker(edit, faults), True)
    assert cause.speaker == faults[0].key
    found = Diagnosis(tuple(faults), (cause,))
    assert kinds(found.voiced(Miscounted)) == [("Miscounted", True)]
    assert kinds(found.voiced(OffPromise)) == []
    assert found.blamed == {2}
    assert found.cause_of(faults[3]) is cause
    # where the cause explains the count alone, the others are told for themselves, without it
    part = Cause(edit, (), frozenset([faults[0].key]), faults[0].key, False)
    found = Diagnosis(tuple(faults), (part,))
    assert found.cause_of(faults[3]) is None
    # what may follow from a count that is not come to is not told beside it
    assert kinds(found.voiced(OffPromise)) == []
    assert kinds(Diagnosis(tuple(faults[1:]), ()).voiced(OffPromise)) == [("OffPromise", False)] * 2
    # a cause that is told by another fault, and one that explains it beside a count not come to
    other = Cause(edit, (), frozenset([faults[1].key]), faults[1].key, False)
    found = Diagnosis(tuple(faults), (other,))
    assert kinds(found.voiced(OffPromise)) == [("OffPromise", True)]
    assert not found.snagged
    assert Diagnosis((), ()).misspelt == []
    assert not Diagnosis((), ()).whole_rows


def test_what_a_step_cannot_do_drowns_what_follows_from_it_with_a_cause_or_without() -> None:
    faults, (_, second) = faults_of(SHORT.format("prev B picks 2"))
    snag, *rest = faults
    assert isinstance(snag, Snagged)
    assert Diagnosis(tuple(faults), ()).snagged
    off = next(f for f in rest if isinstance(f, OffPromise))
    edit = DropStep(second)
    alone = Cause(edit, (), frozenset([off.key]), off.key, False)
    assert kinds(Diagnosis(tuple(faults), (alone,)).voiced(OffPromise)) == []
    both = Cause(edit, (), frozenset([off.key, snag.key]), off.key, True)
    assert kinds(Diagnosis(tuple(faults), (both,)).voiced(OffPromise)) == [("OffPromise", True)]


def test_the_fault_at_the_step_that_is_changed_speaks_and_of_these_the_most_exact() -> None:
    faults, (first, second) = faults_of(LOOSE)
    picks, one, two, loose = faults
    edit, start = DropStep(second), DropStep(first)
    assert speaker(edit, faults) == picks.key
    assert speaker(start, faults) == loose.key, "the start places the rings that are loose"
    assert speaker(edit, [one, two, loose]) == one.key, "the one loose is of another step"
    assert speaker(edit, [two, one]) == two.key, "of two as exact the first"
    assert speaker(edit, [loose]) == loose.key
    ring = Ring("A", 1, 1, 0)
    apart, owed = FallsApart(second, ring, 2), MissedLink(second, ring, ring)
    assert speaker(edit, [one, apart]) == one.key, "falling apart follows"
    assert speaker(edit, [one, apart, owed]) == owed.key
    assert speaker(start, [apart, owed, one]) == one.key
    snags, _ = faults_of(SHORT.format("prev B picks 2"))
    assert speaker(start, [*faults, snags[0]]) == snags[0].key, "a name that no step places"


def test_what_explains_faults_is_not_to_be_had_before_it_was_asked_for() -> None:
    faults, _ = faults_of(LOOSE)
    for name in ("causes", "searched"):
        with pytest.raises(NotAsked):
            getattr(Unexplained(tuple(faults), ()), name)
        assert not getattr(Unexplained((), ()), name)
    assert Unexplained(tuple(faults), ()).faults == tuple(faults)


def test_the_step_is_named_only_of_a_change_that_lies_in_another() -> None:
    """The finding speaks of step 5, and step 4 may be at fault as well."""
    body = (
        "expect:/M meets 6 S/S meets 6 M/start:/close 2 H/add 2 M through H picks 2"
        "/add 2 S through M picks 2/unit:/add 2 M through prev S picks 2/add 2 S through M picks 2"
        "/finish:/take out first H/piece:/chain 8 units"
    )
    (found,) = (f for f in findings(recipe(body)) if f.severity == "error")
    assert found.help == (
        "to mend: M of the unit before is missing; write 'through M, prev M picks 4'",
        "as likely: S of the unit two before is missing in step 4; write 'through prev S,"
        " prev prev S if there picks 4'",
        "that also makes M2, S1 and S2 right",
    )


# -- many changes as near as one another -----------------------------------------------------------


def rivals(count: int) -> Cause:
    """A cause with so many others as near: an A more, each two units further back."""
    text = recipe(SHORT.format("prev A"))
    step = step_at(text, 2)
    edits = [AddRing(step, ref_of(text, "prev " * n + "A if there")) for n in range(2, count + 3)]
    return Cause(edits[0], tuple(edits[1:]), frozenset(), ("",), True)


@pytest.mark.parametrize(
    ("others", "lines", "last"),
    [
        (0, 1, "to mend: write 'through prev A, prev prev A if there'"),
        (1, 2, ""),
        (5, 6, ""),
        (6, 7, "and 1 other change would do as well"),
        (8, 7, "and 3 other changes would do as well"),
    ],
)
def test_more_than_five_rivals_are_counted_and_all_are_mends(
    others: int, lines: int, last: str
) -> None:
    tree = tree_of(recipe(SHORT.format("prev A")))
    offer = mend_offer(tree, rivals(others))
    assert len(offer.help) == lines
    assert len(offer.mends) == others + 1
    assert ("other change" in offer.help[-1]) == (others > 5)
    assert not last or offer.help[-1] == last
    assert all(h.startswith("or: ") for h in offer.help[1:6])
    # rings of one step that fit as well as one another: none of them is named first
    assert offer.help[0].startswith("to mend: " if not others else "either: ")
    likely = likely_offer(tree, rivals(others), tree.steps()[1])
    assert likely.help[0].startswith("either: " if others else "most likely: ")
    assert likely.mends == offer.mends
    assert mend_offer(tree, None) == likely_offer(tree, None, None)
    more = "one ring more" if others else "A of the unit two before"
    prefix = "also goes" if not others else "goes"
    assert headline(rivals(others)) == f"step 2 most likely {prefix} through {more}"


def test_an_item_left_out_where_the_piece_ends_is_told_so() -> None:
    text = recipe(SHORT.format("prev A, prev prev A"))
    step, tree = step_at(text, 2), tree_of(text)
    edit = ReplaceRing(step, step.through[1], ref_of(text, "prev prev A if there"))
    listed = "write 'through prev A, prev prev A if there'"
    told = f"'prev prev A' is left out where the piece ends; {listed}"
    assert guess(tree, edit, step) == told
    assert guess(tree, edit, None) == told.replace(" ends;", " ends in step 2;")
    assert guess(tree, edit, tree.steps()[0]) == told.replace(" ends;", " ends in step 2;")
    other = ReplaceRing(step, step.through[1], ref_of(text, "prev A1"))
    assert guess(tree, other, step) == (
        "'prev prev A' is meant to be A1 of the unit before; write 'through prev A, prev A1'"
    )
    assert place_of(edit) == step.through[0].span.to(step.through[1].span)


def test_names_that_change_places_are_told_with_their_steps() -> None:
    text = recipe(SHORT.format("prev A, B") + "/finish:/add C through last A")
    tree = tree_of(text)
    one, two = tree.steps()[1:]
    within = SwapNames(one, one.through[0], one.through[1])
    between = SwapNames(one, one.through[1], two.through[0], two)
    assert cause_words(within) == "'A' of step 2 and 'B' most likely change places"
    assert cause_words(between) == "'B' of step 2 and 'A' of step 3 most likely change places"
    assert guess(tree, within, one) == (
        "'A' of step 2 and 'B' change places; write 'through prev B, A'"
    )
    assert guess(tree, between, one) == (
        "'B' of step 2 and 'A' of step 3 change places; write 'through prev A, A' in step 2 and"
        " 'through last B' in step 3"
    )
