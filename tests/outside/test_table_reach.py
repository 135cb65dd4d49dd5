"""The table for everybody: without a mouse, on a phone, with what a screen reader is told."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from at_the_table import Browser, until
from conftest import CHAIN
from selenium.webdriver import Keys

# -- by keyboard ---------------------------------------------------------------------------------

_NAME = """
const e = document.activeElement;
const name = e.getAttribute('aria-label') || e.innerText || '';
return e === document.body ? '' : `${e.tagName}: ${name.trim()}`
"""


def tab_to(browser: Browser, name: str, back: bool = False) -> None:
    """Press Tab until what is reached has that name."""
    seen: list[str] = []
    for _ in range(80):
        if browser.js(_NAME).partition(": ")[2].casefold().startswith(name.casefold()):
            return
        seen.append(browser.js(_NAME))
        browser.keys(Keys.SHIFT + Keys.TAB + Keys.SHIFT if back else Keys.TAB)
    raise AssertionError(f"no way by Tab to '{name}', only to: {list(dict.fromkeys(seen))}")


def leave_the_text(browser: Browser) -> None:
    """Out of the text: Tab indents there, after Escape it leads on."""
    browser.keys(Keys.ESCAPE)
    browser.keys(Keys.TAB)
    until("out of the text", lambda: "The recipe" not in browser.js(_NAME))


def test_a_slip_is_mended_and_saved_by_keyboard(browser: Browser, recipe: Path) -> None:
    browser.keys(*[Keys.ARROW_DOWN] * 8, Keys.END, Keys.BACKSPACE, "2")
    browser.reads("1 error", ".state")
    until("the mend", lambda: browser.all(".mend"))
    leave_the_text(browser)
    tab_to(browser, "Mend it")
    browser.keys(Keys.ENTER)
    browser.is_clean()
    assert browser.text == CHAIN
    until("back in the text", lambda: "The recipe" in browser.js(_NAME))
    browser.keys("#")
    browser.with_control("s")
    until("saved", lambda: "#" in recipe.read_text(encoding="utf-8"))


def test_every_part_is_reached_by_keyboard(browser: Browser, recipe: Path) -> None:
    until("the rings", lambda: browser.all(".ring-pictures svg"))
    leave_the_text(browser)
    for name in ("Steps", "Step of the work", "Step after", "Turn by hand"):
        tab_to(browser, name)
    browser.js("document.activeElement.blur()")
    for name in (recipe.name, "Undo", "Redo", "Save"):
        tab_to(browser, name)


def test_tabs_and_menu_by_keyboard(browser: Browser, recipe: Path) -> None:
    leave_the_text(browser)
    tab_to(browser, "Steps")
    browser.keys(Keys.ARROW_RIGHT, Keys.ARROW_RIGHT, Keys.ENTER)
    browser.reads("how many kits", ".right")
    browser.js("document.activeElement.blur()")
    tab_to(browser, recipe.name)
    browser.keys(Keys.ENTER)
    until("the menu", lambda: browser.all(".q-menu .q-item"))
    tab_to(browser, "New …")
    browser.keys(Keys.ENTER)
    browser.reads("A new recipe", ".q-dialog")
    until("its first field", lambda: "INPUT" in browser.js(_NAME))
    browser.keys(Keys.ESCAPE)
    until("it is closed", lambda: not browser.all(".q-dialog .new"))


def test_focus_stays_where_the_steps_are_chosen(browser: Browser, recipe: Path) -> None:
    until("the rings", lambda: browser.all(".ring-pictures svg"))
    leave_the_text(browser)
    tab_to(browser, "Step after")
    browser.keys(Keys.ENTER)
    browser.reads("picture 2 of ", ".right")
    browser.keys(Keys.ENTER)
    browser.reads("picture 3 of ", ".right")
    assert browser.text == CHAIN  # no Enter went into the text


# -- with a screen reader ------------------------------------------------------------------------

_UNNAMED = """
const named = (e) => e.getAttribute('aria-label') || e.getAttribute('aria-labelledby') ||
  e.getAttribute('title') || e.innerText.trim() || (e.labels && e.labels.length) || e.placeholder;
const all = 'button, a, input, textarea, [role=slider], [role=tab], [role=textbox], [role=img]';
return [...document.querySelectorAll(all)].filter((e) => e.offsetParent && !named(e))
  .map((e) => e.outerHTML.slice(0, 200))
"""


def test_everything_has_a_name(browser: Browser, recipe: Path) -> None:
    browser.paste(CHAIN.replace("picks 1", "picks 2"))
    until("the mend", lambda: browser.all(".mend"))
    for tab in ("Steps", "Pages to print", "Sizes and kit"):
        browser.press(tab)
        assert browser.js(_UNNAMED) == []
    roles = browser.js("return [...document.querySelectorAll('[role]')].map((e) => e.role)")
    assert {"status", "alert", "tab"} <= set(roles)
    assert browser.js("return document.documentElement.lang").startswith("en")


# -- on a phone ----------------------------------------------------------------------------------


@pytest.fixture
def phone(browser: Browser) -> Iterator[None]:
    """A screen of 390 by 844 points, which is touched."""
    browser.driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": 390, "height": 844, "deviceScaleFactor": 2, "mobile": True},
    )
    yield
    browser.driver.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


_WIDER = """
return [...document.querySelectorAll('button, a, input, h1, h2, p, label, .finding, .recipe, svg')]
  .filter((e) => e.offsetParent && !e.closest('pre, .cm-scroller, .printed'))
  .filter((e) => {
    const r = e.getBoundingClientRect(), around = (e.closest('.right') || document.body);
    return r.right > around.getBoundingClientRect().right + 1 || r.left < -1;
  })
  .map((e) => e.outerHTML.slice(0, 150))
"""


def test_a_phone_is_wide_enough(phone: None, browser: Browser, recipe: Path) -> None:
    until("the rings", lambda: browser.all(".ring-pictures svg"))
    assert browser.js("return innerWidth") == 390
    for tab in ("Steps", "Pages to print", "Sizes and kit"):
        browser.press(tab)
        assert browser.js("return document.documentElement.scrollWidth") <= 390
        until("nothing past the rim", lambda: browser.js(_WIDER) == [])  # a tab slides in
    browser.paste(CHAIN.replace("picks 1", "picks 2"))
    until("the mend", lambda: browser.all(".mend"))
    assert browser.js("return document.documentElement.scrollWidth") <= 390
    assert browser.js(_WIDER) == []
    before = browser.words(".mend")  # seen without pointing at anything
    assert "picks 2" in before
    assert "picks 1" in before
    browser.press("Mend it")
    browser.is_clean()
    browser.press("Save")
    until("saved", lambda: browser.words(".saved") == "saved")


def test_buttons_on_a_phone_are_large_enough(phone: None, browser: Browser, recipe: Path) -> None:
    """At least 24 by 24 points: WCAG 2.2, success criterion 2.5.8 (from memory)."""
    until("the rings", lambda: browser.all(".ring-pictures svg"))
    small = browser.js(
        "return [...document.querySelectorAll('button')].filter((e) => e.offsetParent)"
        ".filter((e) => { const r = e.getBoundingClientRect();"
        " return r.width < 24 || r.height < 24; }).map((e) => e.outerHTML.slice(0, 150))"
    )
    assert small == []
