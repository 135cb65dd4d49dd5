"""The pages built round pictures of real rings: panels, signs, copies for the left hand, booklets,
and the page to follow at the bench."""

from __future__ import annotations

import re

import pytest
from helpers import EXAMPLES, LIBRARY, PERSIAN_LINKED, view

from ringstep.commands.cli import main
from ringstep.draw.angle import seen_from
from ringstep.language.source import Refused
from ringstep.paper import film, signs
from ringstep.paper.finished import rule, true_rings
from ringstep.paper.mirror import mirrored_words, must_mirror
from ringstep.paper.page import Html
from ringstep.paper.sentences import Speaker
from ringstep.paper.slips_shown import fold_left_out
from ringstep.space.states import states_of


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    """The text of a page by what is typed after `ringstep handout`, made once."""
    made: dict[tuple[str, ...], str] = {}

    def one(*words: str) -> str:
        if words not in made:
            target = tmp_path_factory.mktemp("page") / "page.html"
            files = [str(LIBRARY / w) if w.endswith(".weave") else w for w in words]
            assert main(["handout", *files, "--to", str(target)]) == 0
            made[words] = target.read_text(encoding="utf-8")
        return made[words]

    return one


def panels(text: str) -> dict[int, str]:
    """What stands in each step, by its number."""
    parts = re.split(r'data-step="(\d+)"', text)
    return {int(n): t.split("</section>")[0] for n, t in zip(parts[1::2], parts[2::2], strict=True)}


def signs_in(step: str) -> list[str]:
    """The words of the signs at the head of a step."""
    return [
        re.sub("<[^>]+>", "", x)
        for x in re.findall(
            r'<span class="sign[^"]*">(?:<svg.*?</svg>)?(.*?</span>|<b>.*?</b>)', step, re.S
        )
    ]


# -- panels and signs ----------------------------------------------------------------------------


def test_every_step_shows_before_and_after_and_says_its_signs(page):
    steps = panels(page("byzantine.weave"))
    assert list(steps) == list(range(1, 10))
    assert {n: signs_in(s) for n, s in steps.items()} == {
        1: ["2 ×"], 2: ["2 ×"], 3: ["fold back"], 4: ["spread"], 5: ["2 ×"],
        6: ["2 ×"], 7: ["2 ×"], 8: ["fold back"], 9: ["spread"],
    }  # fmt: skip
    for number, step in steps.items():
        told = re.findall(r'aria-label="the real rings ([^"]*)"', step)
        captions = re.findall(r'<span class="quiet">([^<]*)</span>', step)
        if number == 1:  # nothing was in the hand
            assert captions == []
            assert len(told) == 1
            continue
        assert captions == ["before", "after"]
        assert told[0].startswith(f"before step {number}")
        assert told[1].startswith(f"after step {number}")
        assert step.index("<h3") if "<h3" in step else step.index("<h2") < step.index("<figure")


def test_all_pictures_of_a_page_have_one_scale(page):
    """Points on paper to a pixel of the picture, for every picture in a step."""
    for name in ("byzantine.weave", "persian_linked.weave", "european_4.weave"):
        found = set()
        for svg in re.findall(r"<svg [^>]*the real rings[^>]*>", page(name)):
            wide, box = (re.search(rf'{k}="([^"]*)"', svg)[1] for k in ("width", "viewBox"))
            found.add(round(float(wide.removesuffix("pt")) / float(box.split()[2]), 2))
        assert len(found) <= 4  # the steps, the head, and a strip at true size; rounded to points


def test_a_side_that_changes_has_both_pictures_and_letters_in_the_boxes(page):
    """Variant zigzag begins from the back: B in units 1, 3 …, F in 2, 4 …."""
    text = page("persian_linked.weave")
    step = panels(text)[8]
    assert signs_in(step) == ["from the front", "from the back"]
    captions = re.findall(r'<span class="quiet">([^<]*)</span>', step)
    assert captions == ["in from the front", "after", "in from the back"]
    assert "".join(re.findall(r"<i>([FB])</i>", text)) == "BF" * 12
    calm = page("persian_linked.weave", "--variant", "calm")
    assert signs_in(panels(calm)[8]) == ["from the front"]
    assert not re.findall(r"<i>[FB]</i>", calm)


def test_where_a_step_goes_through_fewer_that_is_shown_too(page):
    sheet = panels(page("european_4.weave"))[2]
    assert re.findall(r'<span class="quiet">([^<]*)</span>', sheet)[-1] == "at the edge"
    chain = panels(page("spiral_4.weave"))[2]
    assert re.findall(r'<span class="quiet">([^<]*)</span>', chain)[-1] == "the first time"


def test_the_key_explains_the_signs_that_are_used_and_no_others(page):
    text = page("byzantine.weave")
    key = text[text.index("What the signs mean") : text.index("<h2>Start")]
    for name in ("times", "fold", "spread", "again"):
        assert signs.MEANS[name] in key
    for name in ("front", "back", "turn"):
        assert signs.MEANS[name] not in key


def test_a_section_that_is_repeated_says_how_often(page):
    """Twenty units; nine rows under the first; a flower is made in one go."""
    for name, words in (("byzantine", ["20 ×"]), ("european_4", ["9 ×"]), ("flower_of_five", [])):
        parts = re.findall(r'<div class="part">(.*?)</div>', page(f"{name}.weave"), re.S)
        assert [w for p in parts for w in re.findall(r"<span>([\d,]+ ×)</span>", p)] == words


def test_signs_are_those_of_the_steps(tmp_path):
    """Of every shipped weave: as many rings as are placed, the side that is said, the move."""
    seen = 0
    for path in sorted(LIBRARY.glob("*.weave")):
        recipe = view(path.read_text(encoding="utf-8"))
        speaker = Speaker(recipe)
        for act in speaker.told.values():
            told = {s.name: s.words for s in signs.signs_of(act, speaker.side(act.step, act))}
            count = len(act.step.placed)
            assert told.get("times") == (
                f"{count} ×" if count > 1 and act.step.kind in ("add", "close") else None
            )
            assert bool(told.keys() & {"front", "back"}) == (act.step.lay is not None)
            kinds = {"fold": "fold back", "spread": "spread", "turn": "turn over"}
            for name, kind in kinds.items():
                assert (name in told) == (act.step.kind == kind)
            seen += len(told)
    assert seen > 60


def test_a_fold_left_out_is_shown_where_the_rest_can_be_worked(page):
    """The Byzantine chain without its folds is the doubled chain; the Persian one falls apart."""
    text = page("byzantine.weave")
    assert "not so: step 8 left out every time" in text
    assert "left out every time" not in page("persian_linked.weave")
    words, wrong = fold_left_out(view((LIBRARY / "byzantine.weave").read_text(encoding="utf-8")))
    assert words == "step 8 left out every time"
    assert [s.kind for s in wrong.recipe.steps()].count("fold back") == 1
    assert fold_left_out(view(PERSIAN_LINKED.replace("  fold back S\n", ""))) is None


def test_the_pictures_of_the_readme_are_those_of_the_page(page):
    """Two pictures that lie in examples/pictures show what a hand-out shows today."""
    steps = panels(page("byzantine.weave"))
    for number in (5, 8):
        kept = (EXAMPLES / "pictures" / f"byzantine-step-{number}.svg").read_text(encoding="utf-8")
        assert kept.count("<svg ") == 3
        for svg in re.findall(r"<svg [^>]*the real rings.*?</svg>", steps[number], re.S):
            names = re.findall(r"<text[^>]*>([^<]*)</text>", svg)
            assert names
            assert all(f">{name}</text>" in kept for name in names)
            assert len(re.findall("<path id=", svg)) <= kept.count("<path id=")


# -- true size -----------------------------------------------------------------------------------


def test_rings_and_rule_are_at_true_size():
    """One unit of the drawing is one mm, 72 points are one inch of 25.4 mm."""
    for told in (true_rings([("A", 1.2, 4.2)]), rule(50)):
        wide, box = (re.search(rf'{k}="([^"]*)"', told)[1] for k in ("width", "viewBox"))
        across = float(box.split()[2])
        assert float(wide.removesuffix("pt")) / 72 * 25.4 == pytest.approx(across, abs=0.01)
    ring = true_rings([("A", 1.2, 4.2)])
    radius, wire = (float(re.search(rf'{k}="([\d.]+)"', ring)[1]) for k in (" r", "stroke-width"))
    assert 2 * radius - wire == pytest.approx(4.2)
    assert 2 * radius + wire == pytest.approx(6.6)
    strokes = [float(x) for x in re.findall(r'd="M([\d.]+) 0 V', rule(50))]
    assert len(strokes) == 51
    assert strokes[-1] - strokes[0] == 50


# -- for the left hand ---------------------------------------------------------------------------


def test_sides_change_places_and_nothing_else():
    told = mirrored_words(Html(
        '<p class="left">One to the left of the pair and one to the right. Lay it on the Right.'
        " 7 is right; step 3 was left out; pass it right through; from left to right.</p>"
        '<svg aria-label="S1 on the left"></svg>'
    ))  # fmt: skip
    assert told == (
        '<p class="left">One to the right of the pair and one to the left. Lay it on the Left.'
        " 7 is right; step 3 was left out; pass it right through; from right to left.</p>"
        '<svg aria-label="S1 on the right"></svg>'
    )


def test_a_copy_for_the_left_hand(page):
    """Every ring is seen as far to the right as it was to the left, as high and as near."""
    recipe = view((LIBRARY / "persian_6.weave").read_text(encoding="utf-8"))
    shown = states_of(recipe)
    plain, mirrored = (film.angle(recipe, shown, turned) for turned in (False, True))
    rings = [lying for _, lying in shown.states[-1].rings]
    for one, other in zip(seen_from(rings, plain), seen_from(rings, mirrored), strict=True):
        assert other.centre == pytest.approx(one.centre * [-1, 1, 1])
    left = panels(page("persian_6.weave", "--left-handed"))
    assert "one to the right of the middle pair and one to the left" in left[4].lower()
    assert "For the left hand" in page("persian_6.weave", "--left-handed")


def test_names_and_pictures_that_a_mirror_would_turn_round_are_refused():
    for name, words in (
        ("both_ways_bracelet", "'left' and 'right' are names"),
        ("heart_panel", "the picture in colours"),
        ("cube_of_panels", "edges that are joined"),
    ):
        with pytest.raises(Refused, match=words):
            must_mirror(view((EXAMPLES / f"{name}.weave").read_text(encoding="utf-8")))


# -- booklets and the page to follow -------------------------------------------------------------


def test_a_booklet_says_once_what_is_the_same(page):
    text = page("simple_chain.weave", "byzantine.weave")
    for once in (
        "Opening and closing a ring",
        "<h2>Before you begin",
        "<h2>Words",
        "Booklet of weaves</h1>",
    ):
        assert text.count(once) == 1, once
    assert [re.sub("<[^>]+>", "", h) for h in re.findall(r"<h1>.*?</h1>", text)] == [
        "Booklet of weaves", "Simple chain", "Byzantine chain",
    ]  # fmt: skip
    assert text.count("Made with ringstep") == 2
    assert text.count("<h2>You need") == 2
    names = re.findall(r'id="(r[0-9a-f]+-\d+)"', text)
    assert len(names) > 20


def test_options_of_one_recipe_are_not_for_booklets(capsys):
    files = [str(LIBRARY / f"{n}.weave") for n in ("simple_chain", "byzantine")]
    for words in (["--teacher"], ["--draft"], ["--variant", "calm"]):
        assert main(["handout", *files, *words]) == 2
        assert "for one recipe" in capsys.readouterr().err
    assert main(["handout", *files, "--screen"]) == 2
    assert "--screen is for one weave" in capsys.readouterr().err


def test_the_page_to_follow_has_a_screen_for_each_step(page, tmp_path):
    text = page("persian_linked.weave", "--screen")
    screens = re.findall(r'<section class="screen"([^>]*)>', text)
    assert len(screens) == 2 + 10 + 1  # what it is, what is read before, the steps, when it is done
    repeated = [s for s in screens if "data-times" in s]
    assert len(repeated) == 5
    for told in repeated:
        assert 'data-times="24"' in told
        assert 'data-what="unit"' in told
        assert f'data-sides="{"BF" * 12}"' in told
    assert "://" not in re.sub(r'xmlns(:xlink)?="[^"]*"', "", text)
    runs = page("simple_chain.weave", "--screen")
    assert 'data-times="38"' in runs


def test_a_strand_goes_round_by_itself_on_the_page_to_follow(tmp_path):
    """205 mm at 45 mm for 10 units are 46 units, and 40 mm are 9."""
    target = tmp_path / "page.html"
    recipe = str(EXAMPLES / "y_necklace.weave")
    assert main(["handout", recipe, "--screen", "--rings", "none", "--to", str(target)]) == 0
    times = re.findall(r'data-times="(\d+)"', target.read_text(encoding="utf-8"))
    assert times == ["46", "46", "9"]
