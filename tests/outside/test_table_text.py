"""What the table's menu does to the whole text, the other recipes it leads to, and its words."""

from __future__ import annotations

from pathlib import Path

import pytest
from at_the_table import Browser, Table, until
from conftest import CHAIN
from selenium.webdriver import Keys

from ringstep.language.words_page import words_page


def choose(browser: Browser, words: str) -> None:
    """Take one line of the menu under the recipe's name."""
    until("the menu is opened", lambda: [browser.all(".bar .name")[0].click()])
    browser.press(words)


def test_the_text_is_tidied(browser: Browser, recipe: Path) -> None:
    loose = CHAIN.replace("  close A", "CLOSE   A").replace("unit:", "Unit :")
    browser.paste(loose)
    choose(browser, "Tidy the text")
    until("it is tidy", lambda: browser.text == CHAIN)
    browser.go_to(1)
    browser.with_control("z")
    until("one undo brings it back", lambda: browser.text == loose)


def test_a_text_that_cannot_be_read_is_not_tidied(browser: Browser, recipe: Path) -> None:
    unread = CHAIN.replace("  close A", "CLSOE   A").replace("unit:", "Unit :")
    browser.paste(unread)
    choose(browser, "Tidy the text")
    browser.reads("A line cannot be read yet, so the text is left as it is.")
    assert browser.text == unread


def test_a_ring_is_called_otherwise_everywhere(browser: Browser, recipe: Path) -> None:
    two = CHAIN.replace("A meets 2", "A meets 2 A, 1 drop\n  drop meets 1 A")
    two = two.replace("picks 1\n", "picks 1\n  add drop through A picks 1\n")
    browser.paste(two)
    choose(browser, "Rename a ring …")
    browser.reads("Rename a ring or part", ".q-dialog")
    named_here = "return document.activeElement.getAttribute('aria-label')"
    until("one can type", lambda: browser.js(named_here) == "its new name")
    browser.keys("drop")
    browser.press("Rename it everywhere")
    browser.reads("'drop'", ".q-dialog [role=alert]")
    assert browser.text == two, "a name that is taken changes nothing"
    field = browser.all(".q-dialog input[aria-label='its new name']")[0]
    field.click()
    browser.with_control("a")
    browser.keys("B", Keys.ENTER)
    named = two.replace("A meets 2 A", "B meets 2 B").replace("meets 1 A", "meets 1 B")
    for old, new in (("close A", "close B"), ("add A", "add B"), ("prev A", "prev B")):
        named = named.replace(old, new)
    named = named.replace("through A", "through B")
    until("it is renamed", lambda: browser.text == named)
    browser.is_clean()


def test_nothing_is_renamed_where_nothing_is_named(browser: Browser, recipe: Path) -> None:
    browser.paste('weave "Empty"\n')
    choose(browser, "Rename a ring …")
    browser.reads("The text names no ring yet.")


def test_another_recipe_of_the_folder_is_opened(
    browser: Browser, table: Table, recipe: Path
) -> None:
    other = table.path("zz another.weave")
    other.write_text(CHAIN.replace("Simple chain", "Another one"), encoding="utf-8")
    browser.open(table, recipe.name)
    choose(browser, other.name)
    until("the other is there", lambda: 'weave "Another one"' in browser.text)


@pytest.fixture
def words(browser: Browser, recipe: Path) -> str:
    """What can be read on the page of words, which opens in a tab of its own."""
    driver = browser.driver
    here = driver.current_window_handle
    browser.press("Words")
    until("a tab more", lambda: len(driver.window_handles) == 2)
    driver.switch_to.window(next(tab for tab in driver.window_handles if tab != here))
    browser.reads("The words of a recipe", "h1")
    told = browser.words()
    driver.close()
    driver.switch_to.window(here)
    return told


def test_every_word_is_told_with_its_meaning(words: str) -> None:
    plain = " ".join(words.split())
    assert 'weave "Simple chain"' in plain
    for word in words_page()[0]:
        for said in (word.phrase, word.example, word.sentence):
            assert " ".join(said.split()) in plain
