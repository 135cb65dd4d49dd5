"""The table and its files: two tabs, a server that stops, drafts, new recipes, pages to print."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from at_the_table import ROOT, Browser, Table, until
from conftest import CHAIN
from selenium.webdriver import Keys
from selenium.webdriver.common.by import By

# -- two tabs ------------------------------------------------------------------------------------


@pytest.fixture
def two_tabs(browser: Browser, table: Table, recipe: Path) -> Iterator[tuple[str, str]]:
    """One recipe in two tabs; in the first it was changed and saved, in the second only changed."""
    driver = browser.driver
    one = driver.current_window_handle
    driver.switch_to.new_window("tab")
    two = driver.current_window_handle
    browser.open(table, recipe.name)
    for tab, word in ((one, "#one"), (two, "#two")):
        driver.switch_to.window(tab)
        browser.go_to(12)
        browser.keys(*word)
        until("it is typed", lambda word=word: browser.text == CHAIN + word)
        if tab == one:
            browser.with_control("s")
            until("it is saved", lambda: recipe.read_text(encoding="utf-8") == CHAIN + "#one")
    browser.with_control("s")
    browser.reads("changed meanwhile", ".q-dialog")
    assert recipe.read_text(encoding="utf-8") == CHAIN + "#one"
    yield one, two
    driver.switch_to.window(two)
    driver.close()
    driver.switch_to.window(one)


def test_changed_meanwhile_and_mine_is_kept(
    browser: Browser, recipe: Path, two_tabs: tuple[str, str]
) -> None:
    browser.press("Keep my text; the other is kept beside it")
    until("mine is saved", lambda: recipe.read_text(encoding="utf-8") == CHAIN + "#two")
    before = recipe.with_name(f"{recipe.name}.before")
    assert before.read_text(encoding="utf-8") == CHAIN + "#one"
    until("it is said", lambda: browser.words(".saved") == "saved")
    browser.keys("!")
    browser.with_control("s")  # and from now on this tab knows what is there
    until("saved again", lambda: recipe.read_text(encoding="utf-8") == CHAIN + "#two!")


def test_changed_meanwhile_and_the_other_is_taken(
    browser: Browser, recipe: Path, two_tabs: tuple[str, str]
) -> None:
    browser.press("Take the text that is there now; Undo brings mine back")
    until("the other text", lambda: browser.text == CHAIN + "#one")
    until("it is said", lambda: browser.words(".saved") == "saved")
    assert recipe.read_text(encoding="utf-8") == CHAIN + "#one"
    browser.press("Undo")
    until("mine is back", lambda: browser.text == CHAIN + "#two")
    browser.with_control("s")
    until("mine is saved", lambda: recipe.read_text(encoding="utf-8") == CHAIN + "#two")


def test_a_file_taken_away_is_asked_about(browser: Browser, recipe: Path) -> None:
    browser.go_to(12)
    browser.keys("#")
    recipe.unlink()
    browser.with_control("s")
    browser.reads("taken away meanwhile", ".q-dialog")
    assert not recipe.exists()
    browser.press("Keep my text; the other is kept beside it")
    until("it is there again", lambda: recipe.exists())
    assert recipe.read_text(encoding="utf-8") == CHAIN + "#"


def test_a_read_only_recipe_is_told_and_stays(browser: Browser, recipe: Path) -> None:
    recipe.chmod(0o444)
    browser.go_to(12)
    browser.keys("#")
    browser.with_control("s")
    browser.reads("read-only")
    assert recipe.read_text(encoding="utf-8") == CHAIN
    assert browser.text == CHAIN + "#"


# -- nothing typed is lost -----------------------------------------------------------------------


def draft_of(recipe: Path) -> str:
    """The draft that is kept of a recipe, or nothing."""
    draft = recipe.with_name(f".{recipe.name}.draft")
    return draft.read_text(encoding="utf-8") if draft.exists() else ""


def take_back(browser: Browser, text: str) -> None:
    """Take the draft back that is offered."""
    browser.reads("typed and not saved", ".banner")
    browser.press("Take it back")
    until("the draft", lambda: browser.text == text)


@pytest.mark.parametrize("wait", [True, False])
def test_a_reload_loses_nothing(browser: Browser, recipe: Path, wait: bool) -> None:
    browser.go_to(12)
    browser.keys(*"#typed")
    if wait:
        until("a draft", lambda: draft_of(recipe) == CHAIN + "#typed")
    browser.driver.refresh()
    browser.ready()
    assert browser.text == CHAIN
    take_back(browser, CHAIN + "#typed")
    browser.with_control("s")
    until("saved", lambda: recipe.read_text(encoding="utf-8") == CHAIN + "#typed")
    until("the draft is gone", lambda: not draft_of(recipe))
    browser.driver.refresh()
    browser.ready()
    assert browser.text == CHAIN + "#typed"
    assert browser.words(".banner") == ""


def test_a_draft_can_be_thrown_away(browser: Browser, recipe: Path) -> None:
    browser.go_to(12)
    browser.keys("#")
    until("a draft", lambda: draft_of(recipe))
    browser.driver.refresh()
    browser.ready()
    browser.press("Throw it away")
    until("the draft is gone", lambda: not draft_of(recipe))
    assert browser.text == CHAIN


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT])
def test_the_server_stops_in_the_middle(browser: Browser, tmp_path: Path, how: int) -> None:
    folder = tmp_path / "bench"
    folder.mkdir()
    recipe = folder / "cuff.weave"
    recipe.write_text(CHAIN, encoding="utf-8")
    own = Table(folder, recipe.name)
    first = browser.driver.current_window_handle
    browser.driver.switch_to.new_window("tab")
    try:
        browser.sit_down(own)
        browser.go_to(12)
        browser.keys(*"# half a wor")
        if how == signal.SIGKILL:
            until("a draft", lambda: draft_of(recipe) == CHAIN + "# half a wor")
        else:
            until("it is heard", lambda: browser.words(".saved") != "saved")
        told = own.stop(how)
        assert how == signal.SIGKILL or "Traceback" not in told
        assert draft_of(recipe) == CHAIN + "# half a wor"
        assert recipe.read_text(encoding="utf-8") == CHAIN
        browser.reads("onnection lost")
        assert browser.text == CHAIN + "# half a wor"  # and it can still be read there
        own.start()
        browser.sit_down(own)
        take_back(browser, CHAIN + "# half a wor")
        browser.with_control("s")
        until("saved", lambda: recipe.read_text(encoding="utf-8") == CHAIN + "# half a wor")
    finally:
        browser.driver.close()
        browser.driver.switch_to.window(first)
        own.stop()


# -- new recipes ---------------------------------------------------------------------------------


def begin_new(browser: Browser, recipe: Path, name: str, begin: str = "") -> None:
    """Fill in what is asked for a new recipe."""
    browser.press(f"{recipe.name}\nexpand_more")
    browser.press("New …")
    until("the question", lambda: browser.all(".q-dialog input"))
    browser.all(".q-dialog input")[0].send_keys(name)
    if begin:
        field = browser.all(".q-dialog input")[1]
        field.click()
        field.send_keys(begin)
        offered = ".q-menu .q-item"
        until("it is offered", lambda: begin in browser.words(offered))
        next(one for one in browser.all(offered) if begin in one.text).click()
    browser.press("Make it")


@pytest.mark.parametrize(
    ("begin", "source"),
    [("Box chain (ready made)", ROOT / "library" / "box_chain.weave"), ("", None),
     ("a first tube", ROOT / "recipe/ringstep/language/starters/tube.weave")],
)  # fmt: skip
def test_a_new_recipe(
    browser: Browser, table: Table, recipe: Path, begin: str, source: Path | None
) -> None:
    name = f"new_{''.join(filter(str.isalpha, begin))}"
    begin_new(browser, recipe, name, begin)
    until("it is opened", lambda: f"{name}.weave" in browser.words(".bar"))
    browser.ready()
    text = table.path(f"{name}.weave").read_text(encoding="utf-8")
    assert browser.text == text
    if source is None:
        assert text == ""
    else:
        same = source.read_text(encoding="utf-8").replace("FILE.weave", f"{name}.weave")
        kept = [line for line in same.splitlines() if not line.startswith("weave ")]
        assert [line for line in text.splitlines() if not line.startswith("weave ")] == kept
        browser.is_clean()
    assert recipe.read_text(encoding="utf-8") == CHAIN


@pytest.mark.parametrize("name", ["../out", "CON", "first"])
def test_a_new_recipe_is_never_put_elsewhere(
    browser: Browser, table: Table, recipe: Path, name: str
) -> None:
    before = sorted(p.name for p in table.folder.parent.rglob("*.weave"))
    begin_new(browser, recipe, name)
    told = {"first": "is there already"}.get(name, "cannot be used")
    browser.reads(told, ".q-dialog")
    browser.press("Cancel")
    assert sorted(p.name for p in table.folder.parent.rglob("*.weave")) == before


# -- pages, sizes and kit ------------------------------------------------------------------------


def made(browser: Browser, name: str) -> str:
    """The page that was made, opened in a tab of its own; what can be read there."""
    link = browser.button(f"Open {name} to print it")
    driver = browser.driver
    here = driver.current_window_handle
    link.click()
    until("a second tab", lambda: len(driver.window_handles) == 2)
    driver.switch_to.window(next(w for w in driver.window_handles if w != here))
    until("the page", lambda: driver.find_elements(By.TAG_NAME, "h1"))
    words = driver.find_element(By.TAG_NAME, "body").text
    driver.close()
    driver.switch_to.window(here)
    return str(words)


def test_a_hand_out_and_a_slip_are_made(browser: Browser, table: Table, recipe: Path) -> None:
    browser.go_to(1)
    browser.keys(Keys.END, Keys.BACKSPACE, *' of mine"')
    browser.press("Pages to print")
    browser.press("Make the hand-out")
    browser.reads(f"Open {recipe.stem}-handout.html", ".made", 60)
    words = made(browser, f"{recipe.stem}-handout.html")
    assert "Simple chain of mine" in words
    assert 'weave "Simple chain of mine"' in recipe.read_text(encoding="utf-8")  # saved first
    page = table.path(f"{recipe.stem}-handout.html").read_text(encoding="utf-8")
    assert '<meta name="generator" content="ringstep ' in page
    fields = {one.get_attribute("aria-label"): one for one in browser.all(".right input")}
    kits = next(one for name, one in fields.items() if name and "how many kits" in name)
    kits.send_keys(Keys.BACKSPACE, "3")
    browser.press("Make the packing slip")
    browser.reads(f"Open {recipe.stem}-slip.html", ".made", 60)
    assert "31" in made(browser, f"{recipe.stem}-slip.html")  # rings of one kit: 1 and 30 units


def test_no_page_is_made_of_a_recipe_with_errors(browser: Browser, recipe: Path) -> None:
    browser.paste(CHAIN.replace("picks 1", "picks 2"))
    browser.press("Pages to print")
    browser.press("Make the hand-out")
    browser.reads("the recipe has errors", ".made")
    assert not list(recipe.parent.glob(f"{recipe.stem}-*"))


def test_a_page_of_the_makers_own_is_not_written_over(browser: Browser, recipe: Path) -> None:
    own = recipe.with_name(f"{recipe.stem}-handout.html")
    own.write_text("my own page", encoding="utf-8")
    browser.press("Pages to print")
    browser.press("Make the hand-out")
    browser.reads("is there already", ".made", 60)
    assert own.read_text(encoding="utf-8") == "my own page"


def test_sizes_and_kit_follow_the_text(browser: Browser, recipe: Path) -> None:
    command = [sys.executable, "-m", "ringstep", "kit", str(recipe), "--json"]
    told = json.loads(subprocess.run(command, capture_output=True, check=True).stdout)
    assert "31" in json.dumps(told)  # one ring and 30 units of one
    browser.press("Sizes and kit")
    browser.reads("31", ".printed")
    browser.paste(CHAIN.replace("30 units", "60 units"))
    browser.reads("61", ".printed")
    browser.reads("AR", ".printed")  # 5 mm inside by 1.2 mm wire
    browser.reads("4.2", ".printed")


# -- markup in names -----------------------------------------------------------------------------

MARKED = "<b id='of-a-name'>"


def test_markup_in_names_is_shown_as_text(browser: Browser, table: Table) -> None:
    name = f'{MARKED} &amp; "q" {{{{1}}}} ${{2}}.weave'
    title = f"{MARKED} &amp; <img src=x onerror=alert(1)>"
    text = CHAIN.replace("Simple chain", title)
    text = text.replace("picks 1", f"picks 1\n    hint {MARKED} <script>alert(2)</script>")
    table.path(name).write_text(text, encoding="utf-8")
    browser.open(table, name)
    assert name in browser.words(".bar")
    until("the name in the title", lambda: browser.driver.title.strip().startswith(name))
    browser.is_clean()
    until("the rings", lambda: browser.all(".ring-pictures svg"))
    browser.go_to(9)
    until("the step with the hint", lambda: "Step 2" in browser.words(".right"))
    as_markup = "#of-a-name, .right b, .right script, .right img, .findings img"
    for tab in ("Sizes and kit", "Pages to print", "Steps"):
        browser.press(tab)
        assert not browser.all(as_markup)
    browser.press("Pages to print")
    browser.press("Make the hand-out")
    until("the page", lambda: browser.all(".made a"), 60)
    page = made(browser, f"{name.removesuffix('.weave')}-handout.html")
    assert title in page
    assert "<script>alert(2)</script>" in page
    browser.paste(text.replace("prev A", "prev <b>x</b>"))
    browser.reads("error", ".state")
    browser.reads("line 9", ".findings")
    assert not browser.all(as_markup)
    browser.press(f"{name}\nexpand_more")
    browser.press("New …")
    browser.reads("A new recipe", ".q-dialog")
    assert not browser.all(as_markup)
    browser.press("Cancel")
