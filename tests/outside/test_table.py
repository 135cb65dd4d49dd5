"""The table in a real browser: what is typed, marked, mended, drawn and saved."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from at_the_table import Browser, Table, until
from conftest import CHAIN
from selenium.webdriver import Keys

from ringstep.language.shipped import shipped_weaves

# -- typing --------------------------------------------------------------------------------------

#: 200 keys.
TYPED = "# " + ("ring by ring, each through the one before; " * 5)[:198]


@pytest.mark.parametrize("milliseconds", [50, 100, 160])
def test_no_letter_is_lost(browser: Browser, recipe: Path, milliseconds: int) -> None:
    assert len(TYPED) == 200
    browser.go_to(12)
    browser.keys(*TYPED, every=milliseconds / 1000)
    assert browser.text == CHAIN + TYPED
    browser.with_control("s")
    until("the file is saved", lambda: recipe.read_text(encoding="utf-8") != CHAIN)
    assert recipe.read_text(encoding="utf-8") == CHAIN + TYPED
    assert browser.text == CHAIN + TYPED


def test_lines_are_typed_as_in_any_editor(browser: Browser, recipe: Path) -> None:
    """A new line begins under the one before; no word that is offered takes the place of a key."""
    browser.go_to(9)
    lines = ["", "add B through A", "add C through B", "close D", "fold B"]
    browser.keys(*"\n".join(lines).replace("\n", Keys.ENTER), every=0.06)
    expected = CHAIN.replace("picks 1\n", "picks 1" + "\n  ".join(lines) + "\n")
    assert browser.text == expected


# -- findings and mends --------------------------------------------------------------------------


def test_from_a_slip_to_a_clean_recipe(browser: Browser, recipe: Path) -> None:
    browser.is_clean()
    browser.go_to(9)
    browser.keys(Keys.BACKSPACE, "2")
    browser.reads("1 error", ".state")
    browser.reads("picks up 2", ".findings")
    until("the mark", lambda: browser.words(".recipe .wrong.error") == "picks 2")
    assert "line 9" in browser.words(".finding")
    until("the mend", lambda: browser.all(".mend"))
    shown = [one.text for one in browser.all(".mend")]
    assert any("add A through prev A picks 2" in one and "picks 1" in one for one in shown)
    browser.press("Mend it")
    browser.is_clean()
    assert browser.text == CHAIN
    assert not browser.all(".recipe .wrong")
    assert recipe.read_text(encoding="utf-8") == CHAIN  # nothing is written before it is saved


def test_a_broken_persian_chain_is_mended_by_buttons_alone(
    browser: Browser, table: Table, recipe: Path
) -> None:
    """A word misspelt, a ring missed, a count that is wrong: three presses, and it is as it was."""
    right = shipped_weaves()["persian_6"].read_text(encoding="utf-8")
    broken = right.replace("take out first H", "take out frist H")
    broken = broken.replace("add 2 M through prev S picks 2", "add 2 M through prev S1 picks 2")
    broken = broken.replace("prev M picks 4", "prev M picks 3")
    recipe.write_text(broken, encoding="utf-8")
    browser.open(table, recipe.name)
    for _ in range(3):
        before = browser.text
        until("a mend", lambda: browser.all(".mend button"))
        browser.all(".mend button")[0].click()
        until("another text", lambda before=before: browser.text != before)
        until("all is told", lambda: "looking" not in browser.words(".state"))
    browser.is_clean()
    assert browser.text == right


def test_a_place_in_a_finding_leads_to_its_line(browser: Browser, recipe: Path) -> None:
    browser.paste(CHAIN.replace("prev A picks 1", "prev Q"))
    browser.reads("line 9", ".finding")
    browser.go_to(1)
    browser.press("line 9")
    until("the cursor stands in line 9", lambda: browser.line == 9)


# -- rings ---------------------------------------------------------------------------------------


def pictures(browser: Browser) -> str:
    """The pictures of the step that is shown."""
    return "".join(one.get_attribute("innerHTML") for one in browser.all(".ring-pictures svg"))


def step_shown(browser: Browser) -> str:
    """What the panel says of the step it shows."""
    found = re.search(r"Step \d+.*: picture \d+ of \d+", browser.words(".right"))
    return found[0] if found else ""


def test_the_slider_goes_through_the_steps(browser: Browser, recipe: Path) -> None:
    until("the rings", lambda: pictures(browser))
    assert step_shown(browser).startswith("Step 1, start: picture 1 of ")
    seen = [pictures(browser)]
    browser.js("document.querySelector('[aria-label=\"Step of the work\"]').focus()")
    for at in (2, 3):
        browser.keys(Keys.ARROW_RIGHT)
        until(f"step {at}", lambda at=at: f": picture {at} of " in step_shown(browser))
        until("another picture", lambda: pictures(browser) not in ("", *seen))
        seen.append(pictures(browser))
        assert browser.line == 9  # the step that is shown is where the cursor stands
    browser.press("Step before")
    until(
        "step 2 again",
        lambda: ": picture 2 of " in step_shown(browser) and pictures(browser) == seen[1],
    )


def test_a_step_shows_its_rings_and_a_ring_its_step(browser: Browser, recipe: Path) -> None:
    until("the rings", lambda: pictures(browser))
    browser.go_to(9)
    until("the step of line 9", lambda: step_shown(browser).startswith("Step 2"))
    until("both rings", lambda: len(set(rings(browser))) >= 2)
    browser.go_to(1)
    first = browser.all(".ring-pictures [data-ring]")[0]  # the ring placed first lies farthest back
    browser.js("arguments[0].dispatchEvent(new MouseEvent('click', {bubbles: true}))", first)
    until("its line", lambda: browser.line in (7, 9))
    line = browser.line
    number = {7: "Step 1", 9: "Step 2"}[line]
    until("its step", lambda: step_shown(browser).startswith(number))
    until("the other step", lambda: _other_step(browser, line))


def test_rings_that_come_later_show_the_step_of_the_cursor(browser: Browser, recipe: Path) -> None:
    browser.go_to(9)
    until("the step of line 9", lambda: step_shown(browser).startswith("Step 2"))
    until("its rings", lambda: len(set(rings(browser))) >= 2)


def _other_step(browser: Browser, line: int) -> bool:
    browser.go_to(16 - line)
    return not step_shown(browser).startswith({7: "Step 1", 9: "Step 2"}[line])


def rings(browser: Browser) -> list[str]:
    """The rings that can be clicked, as they are marked."""
    found = [one.get_attribute("data-ring") for one in browser.all(".ring-pictures [data-ring]")]
    return [one for one in found if one]


def test_rings_are_turned_by_hand(browser: Browser, recipe: Path) -> None:
    until("the rings", lambda: pictures(browser))
    browser.press("Turn by hand")
    until("a canvas", lambda: browser.all(".ring-space canvas"))
    wide = "return document.querySelector('.ring-space canvas').width"
    until("room to draw in", lambda: browser.js(wide) > 100)
    browser.press("Back to the pictures")
    until("the pictures", lambda: pictures(browser) and not browser.all(".ring-space canvas"))


# -- saving --------------------------------------------------------------------------------------


@pytest.mark.parametrize("end", ["\r\n", "\r"])
def test_bytes_stay_as_they_were(browser: Browser, table: Table, recipe: Path, end: str) -> None:
    recipe.write_bytes(b"\xef\xbb\xbf" + CHAIN.replace("\n", end).encode())
    browser.open(table, recipe.name)
    assert browser.text == CHAIN
    browser.go_to(12)
    browser.keys("#", " ", "°", "x")
    browser.with_control("s")
    browser.reads("saved", ".saved")
    expected = b"\xef\xbb\xbf" + (CHAIN + "# °x").replace("\n", end).encode()
    until("the file is saved", lambda: recipe.read_bytes() == expected)


def test_what_is_saved_is_said(browser: Browser, recipe: Path) -> None:
    browser.reads("saved", ".saved")
    browser.go_to(12)
    browser.keys("#")
    browser.reads("not saved", ".saved")
    until("a mark in the title", lambda: browser.driver.title.endswith("*"))
    browser.press("Save")
    until("saved", lambda: browser.words(".saved") == "saved")
    until("no mark in the title", lambda: not browser.driver.title.endswith("*"))


def test_undo_and_redo(browser: Browser, recipe: Path) -> None:
    browser.go_to(12)
    browser.keys("#", "x")
    browser.press("Undo")
    until("undone", lambda: browser.text == CHAIN)
    browser.press("Redo")
    until("done again", lambda: browser.text == CHAIN + "#x")
    browser.with_control("z")
    until("undone by key", lambda: browser.text == CHAIN)
    browser.with_control("y")
    until("done again by key", lambda: browser.text == CHAIN + "#x")
    browser.reads("not saved", ".saved")
    browser.press("Undo")
    until("saved is what is on the disk", lambda: browser.words(".saved") == "saved")
