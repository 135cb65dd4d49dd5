"""The panels beside the text, without a browser: findings, kit, pages, and the table's dialogs."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from typing import Any

from nicegui import ui
from page_alone import Tab, alone, do
from page_made_up import Papers

from ringstep.language.findings import TextEdit
from ringstep.language.source import Refused
from ringstep.table.files import Made
from ringstep.table.findings_panel import FindingsPanel
from ringstep.table.kit_panel import KitPanel
from ringstep.table.papers_panel import PapersPanel

TEXT = 'weave "It"\nstart:\n  close A\nunit:\n  add A through prev A\n'


def finding(severity: str = "error", line: int = 3, **other: Any) -> dict[str, Any]:
    return {
        "rule": "some-rule", "severity": severity, "message": "it is wrong", "line": line,
        "labels": [], "help": "", "mends": [], **other,
    }  # fmt: skip


def mend(says: str, line: int, new: str) -> dict[str, Any]:
    """A mend that puts a word in the place of 'add' or 'close'."""
    end = {3: 8, 5: 6}[line]
    edit = {"line": line, "column": 3, "end_line": line, "end_column": end, "text": new}
    return {"says": says, "edits": [edit]}


# -- findings --------------------------------------------------------------------------------------


class Told:
    """The panel of findings in a tab. lines: those it led to; mended: what it typed in."""

    def __init__(self) -> None:
        self.tab, self.lines = Tab(), list[int]()
        self.mended: list[tuple[str, Sequence[TextEdit]]] = []
        with self.tab.client:
            self.panel = FindingsPanel(
                self.lines.append, lambda text, edits: self.mended.append((text, edits))
            )

    def show(
        self, *found: dict[str, Any], symptom: str | None = None, summary: Sequence[str] = ()
    ) -> list[str]:
        """What the panel says, the state first."""
        with self.tab.client:
            self.panel.show(TEXT, found, symptom, summary)
        return self.tab.words()

    @property
    def state(self) -> list[str]:
        (label,) = self.tab.all(css="state")
        return [one for one in label.classes if one != "state"]


@alone
async def test_findings_are_counted() -> None:
    told = Told()
    error, warning, note = finding(), finding("warning"), finding("note")
    for found, words, kind in (
        ((), "checks clean", "clean"),
        ((error,), "1 error", "error"),
        ((error, error, warning), "2 errors, 1 warning", "error"),
        ((warning, note, note), "checks clean (1 warning, 2 notes)", "clean"),
    ):
        assert told.show(*found)[0] == words
        assert told.state == [kind]


@alone
async def test_first_words_say_that_more_is_looked_for() -> None:
    told = Told()
    assert told.show(symptom="")[0] == "checking"
    assert told.state == ["quiet"]
    assert told.show(finding(), symptom="")[0] == "1 error; looking for what mends it"
    assert told.show(symptom="A meets 1")[0] == "A meets 1; looking for what mends it"
    unread = finding(rule="unread-line")
    assert told.show(unread, finding())[0] == (
        "2 errors; what else there is shows once every line can be read"
    )
    assert told.show(unread, symptom="")[0].startswith("1 error; what else")


@alone
async def test_the_words_of_before_stand_while_it_is_checking() -> None:
    told = Told()
    told.show(finding())
    assert told.show(finding("warning"), symptom="")[1:] == ["error: it is wrong"]


@alone
async def test_what_is_told_already_is_not_drawn_anew() -> None:
    told = Told()
    told.show(finding(), summary=("30 rings",))
    before = told.tab.all(css="finding")
    told.show(finding(), summary=("30 rings",))
    assert told.tab.all(css="finding") == before
    assert told.show(finding(), summary=("31 rings",))[-1] == "31 rings"
    assert told.tab.all(css="finding") != before
    with told.tab.client:
        told.panel.begin()
    assert len(told.tab.words()) == 1
    assert told.tab.words()[0].startswith("Nothing is written yet.")
    assert told.show(finding(), summary=("31 rings",))[-1] == "31 rings"


@alone
async def test_thirty_findings_are_told_one_by_one() -> None:
    told = Told()
    for number, last in ((30, "error: it is wrong"), (31, "and 1 more; mend these first"),
                         (1531, "and 1,501 more; mend these first")):  # fmt: skip
        words = told.show(*[finding() for _ in range(number)])
        assert words[-1] == last
        assert words.count("error: it is wrong") == 30


@alone
async def test_a_finding_says_all_there_is_to_it() -> None:
    told = Told()
    labels = [{"line": 7, "text": "one\x1b ring"}, {"line": 9, "text": "another"}]
    words = told.show(finding(message="it\x1b is", labels=labels, help="do this\n\nor\x1b that"),
                      summary=("30\x1b rings",))  # fmt: skip
    assert words[1:] == [
        "error: it␛ is", "line 7: one␛ ring", "line 9: another", "do this", "or␛ that", "30␛ rings",
    ]  # fmt: skip
    told.tab.press("line 3")
    assert told.lines == [3]


@alone
async def test_a_mend_is_shown_before_it_is_typed() -> None:
    told = Told()
    words = told.show(finding(mends=[mend('say "so"\\', 3, "open")]))
    assert words[2:] == ["before   3 |   close A", "after    3 |   open A"]
    for css in ("before", "after"):
        assert len(told.tab.all(ui.label, css)) == 1
    button = told.tab.button("Mend it")
    assert button.props["aria-label"] == "Mend it: say 'so'/"
    told.tab.press("Mend it")
    assert told.mended == [(TEXT, (TextEdit(3, 3, 3, 8, "open"),))]


@alone
async def test_of_several_mends_one_is_meant() -> None:
    told = Told()
    words = told.show(finding(mends=[mend("one", 3, "open"), mend("two", 5, "fold")]))
    assert words[2] == "Several changes would do; which is meant?"
    first, second = (b for b in told.tab.all(ui.button) if b.text == "Mend it")
    do(second, "click")
    do(first, "click")
    texts = [(edits[0].line, edits[0].text) for _, edits in told.mended]
    assert texts == [(5, "fold"), (3, "open")]


# -- kit -------------------------------------------------------------------------------------------


@alone
async def test_the_kit_is_shown_or_why_there_is_none() -> None:
    tab, wanted = Tab(), list[int]()
    with tab.client:
        kit = KitPanel(lambda: wanted.append(1))

    def told() -> list[str]:
        pages = tab.all(ui.html)
        assert all(page._sanitize is False for page in pages), "its words are escaped already"
        return [page.content for page in pages]

    assert told() == ["<p>kit and sizes stand here once the recipe checks clean</p>", ""]
    assert kit.wish == {"pieces": "1", "spares": "0", "length": "", "clasp": "", "ease": "",
                        "pace": ""}  # fmt: skip
    kit.show({"kit": "<b>kit</b>", "sizes": "<b>sizes</b>"})
    assert told() == ["<b>kit</b>", "<b>sizes</b>"]
    kit.show({"no_kit": "no <length>\x1b"})
    assert told() == ["<p>no &lt;length&gt;␛</p>", "<b>sizes</b>"]
    kit.show({"no_sizes": "none", "kit": "again"})
    assert told() == ["again", "<p>none</p>"]
    kit.waiting("a < b")
    assert told() == ["<p>a &lt; b</p>", ""]
    inputs = {one.label: one for one in tab.all(ui.input)}
    assert list(inputs)[:3] == ["how many kits", "spare rings, %", "length, as in 19 cm"]
    assert wanted == []
    inputs["length, as in 19 cm"].value = " 19 cm "
    assert wanted == [1]
    assert kit.wish["length"] == "19 cm"
    inputs["length, as in 19 cm"].value = None
    assert kit.wish["length"] == ""


# -- pages to print --------------------------------------------------------------------------------


class Making(Papers):
    """Makes pages, slowly, or not at all."""

    fault: Refused | None = None

    async def handout(self, name: str, wishes: Any) -> Made:
        await super().handout(name, wishes)
        if self.fault:
            raise self.fault
        return Made("a b-handout.html", "it lies there\n\nbeside\x1b the recipe")


async def pressed(tab: Tab, words: str) -> None:
    tab.press(words)
    for _ in range(6):
        await asyncio.sleep(0)


def papers(made: Papers, ready: object = "It.weave") -> Tab:
    tab = Tab()

    async def name() -> str | None:
        await asyncio.sleep(0)
        if isinstance(ready, Refused):
            raise ready
        return ready  # type: ignore[return-value]

    with tab.client:
        kit = {n: ui.input(n, value=v) for n, v in (("pieces", "2"), ("spares", None))}
        PapersPanel(made, "It.weave", kit, name)
    return tab


@alone
async def test_a_hand_out_is_made_as_it_is_wished() -> None:
    made = Making()
    tab = papers(made)
    boxes = {box.text: box for box in tab.all(ui.checkbox)}
    assert list(boxes) == [
        "large print", "for the left hand", "the teacher's copy, with all counts",
        "to follow on a phone or tablet, one step a screen", "on Letter instead of A4",
    ]  # fmt: skip
    boxes["for the left hand"].value = True
    tab.press("Make the hand-out")
    await asyncio.sleep(0)
    assert "making it; that takes some seconds" in tab.words()
    assert len(tab.all(ui.spinner)) == 1
    for _ in range(6):
        await asyncio.sleep(0)
    wishes = dict.fromkeys(("large", "teacher", "screen", "letter"), False)
    assert made.asked == [("It.weave", {**wishes, "left-handed": True})]
    assert tab.all(ui.spinner) == []
    assert tab.words()[-2:] == ["it lies there", "beside␛ the recipe"]
    (link,) = tab.all(ui.link)
    assert link.text == "Open a b-handout.html to print it"
    assert (link.props["href"], link.props["target"]) == ("/made/a%20b-handout.html", "_blank")
    assert link.parent_slot.parent is tab.all(css="made")[0]


@alone
async def test_a_slip_is_made_of_what_is_wanted_of_a_kit() -> None:
    made = Making()
    tab = papers(made)
    assert {"how many kits", "spare rings, %"} <= {one.label for one in tab.all(ui.input)}
    await pressed(tab, "Make the packing slip")
    assert made.asked == [("It.weave", {"pieces": "2", "spares": ""})]
    (link,) = tab.all(ui.link)
    assert link.parent_slot.parent is tab.all(css="made")[1]


@alone
async def test_why_no_page_is_made_is_told_in_its_place() -> None:
    for ready, fault, words in (
        (None, None, "the recipe has errors; mend them first, then make the page"),
        (Refused("not saved"), None, "not saved"),
        ("It.weave", Refused("no room"), "no room"),
    ):
        made = Making()
        made.fault = fault
        tab = papers(made, ready)
        await pressed(tab, "Make the hand-out")
        first, second = tab.all(css="made")
        assert [one.text for one in first.descendants() if isinstance(one, ui.label)] == [words]
        assert list(second.descendants()) == []
        assert tab.all(ui.link) == []
        assert tab.all(ui.spinner) == []


@alone
async def test_pages_that_were_made_before_are_there() -> None:
    made = Making()
    made.before = ["It-slip.html", "It-handout.html", "It-follow.html"]
    hand, slip = papers(made).all(css="made")
    names = [[one.text for one in part.descendants() if isinstance(one, ui.link)]
             for part in (hand, slip)]  # fmt: skip
    assert names == [
        ["Open It-handout.html to print it", "Open It-follow.html to print it"],
        ["Open It-slip.html to print it"],
    ]
