"""The hand-out as a page: its structure, its words, its options and what must never get into it."""

from __future__ import annotations

import re
import sys
from collections import Counter
from dataclasses import dataclass, field
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest
from helpers import EXAMPLES, LIBRARY, PERSIAN_LINKED, PERSIAN_WRITTEN, SIMPLE, view

from ringstep.commands.cli import main
from ringstep.draw.key import key_diagram, key_marks
from ringstep.paper.glossary import _ENTRIES, glossary
from ringstep.paper.handout import DRAFT
from ringstep.paper.handout_steps import like_steps
from ringstep.paper.page import _INLINE, _as_image, css_string, escaped
from ringstep.paper.steps_text import step_list

SHIPPED = sorted(LIBRARY.glob("*.weave"))
VOID = frozenset({"meta", "input", "br", "img", "link", "hr"})


@dataclass
class Page(HTMLParser):
    """A page taken apart. items: for each step's `li`, its number, its words and its pictures."""

    text: str
    tags: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    headings: list[tuple[int, str]] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    items: list[tuple[int, list[str], list[str]]] = field(default_factory=list)
    style: str = ""
    open: list[str] = field(default_factory=list)
    depth: int = 10**6

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.feed(self.text)
        self.close()
        assert not self.open, f"never closed: {self.open}"

    def handle_starttag(self, tag, attrs):
        known = {k: v or "" for k, v in attrs}
        assert len(known) == len(attrs), f"an attribute stands twice in {tag}"
        self.tags.append((tag, known))
        if tag not in VOID:
            self.open.append(tag)
        if re.fullmatch(r"h[1-6]", tag):
            self.headings.append((int(tag[1]), ""))
        if "data-step" in known:
            self.items.append((int(known["data-step"]), [], []))
            self.depth = len(self.open)
        if tag == "svg" and self._in_step and not known.get("aria-label", "").startswith("sign:"):
            self.items[-1][2].append(known.get("aria-label", ""))

    @property
    def _in_step(self) -> bool:
        return bool(self.items) and len(self.open) >= self.depth

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag
        if len(self.open) < self.depth:
            self.depth = 10**6

    def handle_data(self, data):
        if "style" in self.open:
            self.style += data
            return
        if "svg" in self.open or "title" in self.open:
            return
        self.words.append(data)
        if self.open and re.fullmatch(r"h[1-6]", self.open[-1]):
            level, so_far = self.headings[-1]
            self.headings[-1] = (level, so_far + data)
        if self._in_step:
            self.items[-1][1].append(data)

    @property
    def plain(self) -> str:
        """All words of the page, spaces evened out."""
        return " ".join(" ".join(self.words).split())

    def named(self, kind: str) -> list[dict[str, str]]:
        """The attributes of every element of a class."""
        return [a for _, a in self.tags if kind in a.get("class", "").split()]


def made(folder: Path, source: str | Path, *words: str, status: int = 0) -> Page:
    """The page that the command writes for a recipe; real rings, which take long, where asked."""
    if "--rings" not in words:
        words = (*words, "--rings", "none")
    path = source if isinstance(source, Path) else folder / "test.weave"
    if isinstance(source, str):
        path.write_text(source, encoding="utf-8")
    target = folder / "page.html"
    assert main(["handout", str(path), "--to", str(target), *words]) == status
    return Page(target.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def shipped(tmp_path_factory):
    """The page of a shipped weave by its name, made once."""
    pages: dict[str, Page] = {}

    def page(name: str) -> Page:
        if name not in pages:
            pages[name] = made(tmp_path_factory.mktemp(name), LIBRARY / f"{name}.weave")
        return pages[name]

    return page


# -- structure -----------------------------------------------------------------------------------


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_every_shipped_weave_becomes_a_sound_page(path, shipped):
    page = shipped(path.stem)
    recipe = view(path.read_text(encoding="utf-8")).recipe
    assert dict(page.tags)["html"]["lang"] == "en"
    levels = [level for level, _ in page.headings]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b <= a + 1 for a, b in pairwise(levels))
    assert all(words.strip() for _, words in page.headings)
    numbers = [number for number, _, _ in page.items]
    assert numbers == [s.number for s in recipe.steps()]
    ids = [a["id"] for _, a in page.tags if "id" in a]
    assert [i for i, n in Counter(ids).items() if n > 1] == []
    assert all(a.get("aria-label") for t, a in page.tags if t in ("svg", "input"))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_pictures_are_told_truly(path, shipped):
    """The words for a picture name every ring that goes in and every role it goes through."""
    page = shipped(path.stem)
    seen = view(path.read_text(encoding="utf-8"))
    steps = {s.number: s for s in seen.recipe.steps()}
    like = like_steps(step_list(seen))
    for number, _, told in page.items:
        if number in like:
            assert told == []
            continue
        assert len(told) == 1
        assert re.match(rf"After step {number}\b", told[0])
        step = steps[number]
        for role in {r.name.role for r in (*step.through, *step.refs)} | {
            i.name.role for i in step.new
        }:
            assert role in told[0], (number, role)
        # A diagram draws one unit; that it goes in from one side must be said in words.
        if step.lay:
            assert re.search(r"entering from the (front|back)", told[0])


def test_persian_picture_in_words(tmp_path):
    page = made(tmp_path, PERSIAN_LINKED)
    told = {number: alt[0] for number, _, alt in page.items}
    assert "S1 and S2 each go through M1 and M2, and M1 and M2 of the unit before" in told[9]


def test_headings_in_reading_order(tmp_path):
    page = made(tmp_path, LIBRARY / "persian_linked.weave", "--teacher")
    assert [h for level, h in page.headings if level < 3] == [
        "Persian chain with linked middle pairs",
        "The finished piece",
        "You need",
        "Before you begin",
        "For the teacher",
        "Opening and closing a ring",
        "What the signs mean",
        "Start",
        "The unit",
        "When it is done",
        "If something looks wrong",
        "Words",
    ]
    assert [h for level, h in page.headings if level == 3] == [f"Step {n}" for n in range(1, 11)]


def test_a_section_whose_first_step_is_worked_nowhere_begins_with_the_next(tmp_path):
    text = (
        'weave "One"\nrings:\n  all  wire 1 mm, inside 6 mm, copper\nexpect:\n  1 ring a unit\n'
        "unit:\n  spread prev F if there\n  add F through prev F if there\npiece:\n"
        "  chain 1 unit\n"
    )
    page = made(tmp_path, text, "--pictures", "none")
    assert "Open 1 ring, F." in page.plain
    assert "Spread" not in page.plain


def test_steps_stay_whole_and_have_a_box_to_tick(tmp_path):
    page = made(tmp_path, PERSIAN_LINKED)
    assert re.search(r"\.row \{[^}]*break-inside: avoid", page.style)
    labels = [a["aria-label"] for t, a in page.tags if t == "input"]
    assert [x for x in labels if x.endswith("done")] == [f"Step {n} done" for n in range(1, 11)]
    assert "Step 9 counted" in labels
    assert page.plain.count("Stop and count.") == len([x for x in labels if "counted" in x])


def test_known_facts(shipped):
    """Counted by hand: 2 + 4 rings of the start and 24 units of 4; AR 6.9 / 1.2."""
    page = shipped("persian_linked")
    for words in (
        "102 rings.",
        "4 rings a unit.",
        "every finished M passes through 7 rings; every finished S passes through 6 rings; at"
        " the two ends they pass through fewer",
        "The piece repeats every two units.",
        "1.2\xa0mm (nearest 17 AWG, 18 SWG)".replace("\xa0", " "),
        "open 100 and close 2",
        "5.8",
    ):
        assert words in page.plain
    assert len([t for t, _ in page.tags if t == "i"]) == 24  # a box for each unit


def test_length_comes_from_the_sample(shipped):
    """180 mm at 50 mm for 10 units are 36 units, which measure 180 mm again."""
    page = shipped("chain_with_clasp")
    assert "About 180 mm without its ends (10 units measure 50 mm)." in page.plain
    assert "Clasp: lobster claw, brass." in page.plain


def test_written_units_are_all_there_and_pictures_only_once(shipped, tmp_path):
    page = shipped("persian_linked_written")
    assert len(page.items) == 42
    assert sum(bool(told) for _, _, told in page.items) == 12
    words = {number: " ".join(" ".join(w).split()) for number, w, _ in page.items}
    assert "The picture is that of step 9." in words[15]
    only = made(tmp_path, LIBRARY / "persian_linked_written.weave", "--pictures", "only")
    assert all(len(told) == 1 for _, _, told in only.items)


def test_cautions_are_on_every_page(tmp_path):
    from ringstep.paper.cautions import CAUTIONS

    for words in ([], ["--pictures", "only"], ["--large", "--pictures", "none"]):
        page = made(tmp_path, SIMPLE, *words)
        assert all(c in page.plain for c in CAUTIONS)


# -- what must never get in ----------------------------------------------------------------------

HOSTILE = """\
weave "</title></style><script>alert(1)</script><img src=x onerror=alert(2)>' } body { } /*"
notes:
  about   </p><script src="http://example.com/x.js"></script> & <b>bold</b>
rings:
  all  wire 1.2 mm, inside 6.8 mm, "><svg onload=alert(3)>, colour 'red' onmouseover=alert(4)
parts:
  clasp  <iframe src="//example.com"></iframe>
variants:
  calm    lay front
start:
  close 2 H
    hint "/><script>alert(5)</script> &lt;already&gt; \u202eturned
  add M1 through H picks 2
  add M2 through H, M1 picks 3 lay varies
unit:
  add M1 through prev M picks 2
  add M2 through prev M, M1 picks 3 lay varies
finish:
  add J through last M, clasp picks 3
piece:
  chain 4 units
"""


def test_nothing_of_a_recipe_becomes_markup(tmp_path):
    page = made(tmp_path, HOSTILE, "--draft", "--teacher")
    found = {t for t, _ in page.tags}
    assert not found & {"script", "img", "iframe", "link", "object", "a", "base", "form"}
    assert not [a for _, a in page.tags if any(k.startswith("on") for k in a)]
    # The words themselves are kept, letter for letter, and marks that turn the text are shown.
    assert "<script>alert(1)</script>" in page.plain
    assert "&lt;already&gt;" in page.plain
    assert "\u202e" not in page.text
    assert [s for s in page.text.split("<") if s.startswith("/style>")] == ["/style>\n"]
    assert "body { }" not in page.style


def test_words_cannot_leave_an_attribute_or_a_style_string():
    assert escaped("a\"b'c<d>&") == "a&quot;b&#x27;c&lt;d&gt;&amp;"
    told = css_string('a"b\\c</style>\n}')
    assert re.fullmatch(r'"[^"<>{}\n]*"', told)
    # The blank behind a number belongs to it; the blank of the text itself stands after it.
    assert told == r'"a\000022 b\00005c c\00003c \00002f style\00003e  \00007d "'


@pytest.mark.parametrize("words", [[], ["--all-variants", "--teacher", "--large"]])
def test_the_page_needs_nothing_from_elsewhere(words, tmp_path):
    page = made(tmp_path, LIBRARY / "persian_linked.weave", *words)
    for tag, attributes in page.tags:
        for name, value in attributes.items():
            if name.startswith("xmlns"):
                continue  # the name of SVG, which nobody fetches
            assert name not in ("src", "href", "srcset", "data", "action", "xlink:href"), tag
            assert "://" not in value
    assert "://" not in page.style
    assert "url(" not in page.style
    assert "@import" not in page.style
    assert not {t for t, _ in page.tags} & {"script", "link", "img"}


# -- colours -------------------------------------------------------------------------------------


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, 'relative luminance'."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    parts = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), parts, strict=True))


def contrast(a: str, b: str) -> float:
    """Contrast ratio, WCAG 2.2, 'contrast ratio'."""
    low, high = sorted((luminance(a), luminance(b)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_worked_out_rightly():
    """21 is the ratio of black on white (WCAG 2.2); the rest is computed in facts of colours that
    colour-blind people tell apart (Okabe and Ito): 5.19 for #0072B2, 3.42 for #009E73 on white."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#0072B2", "#ffffff") == pytest.approx(5.19, abs=0.01)
    assert contrast("#009E73", "#ffffff") == pytest.approx(3.42, abs=0.01)


def test_colours_of_the_style_sheet(tmp_path):
    """WCAG 2.2 level AA: text 4.5 to 1 (1.4.3), lines and boxes 3 to 1 (1.4.11)."""
    page = made(tmp_path, PERSIAN_LINKED, "--draft", "--teacher")
    rules = re.findall(r"([^{}]+)\{([^{}]*)\}", page.style)
    text = lines = 0
    for name, body in rules:
        ground = re.search(r"background: (#\w{6})", body)
        behind = ground[1] if ground else "#ffffff"
        assert behind == "#ffffff" or ":checked" in name
        for colour in re.findall(r"(?<![-\w])color: (#\w+)", body):
            text += 1
            assert contrast(colour, behind) >= 4.5, name
        for colour in re.findall(r"(?:border[-\w]*|outline): [^;]*(#\w+)", body):
            lines += 1
            assert contrast(colour, "#ffffff") >= 3, name
    assert text >= 5
    assert lines >= 5
    assert not re.search(
        r"(?<![-\w])color: (?!#)(?!inherit)[a-z]", page.style.replace("color-scheme: light", "")
    )


# -- options -------------------------------------------------------------------------------------


def test_paper_and_large_print(tmp_path):
    a4, letter = made(tmp_path, SIMPLE), made(tmp_path, SIMPLE, "--paper", "letter")
    assert "size: A4 portrait" in a4.style
    assert "size: letter portrait" in letter.style
    large = made(tmp_path, SIMPLE, "--large")
    assert "html { font-size: 10pt; }" in a4.style
    assert "html { font-size: 18pt; }" in large.style

    def wide(page: Page) -> float:
        return float(
            next(a for t, a in page.tags if t == "svg" and "After" in a["aria-label"])[
                "width"
            ].removesuffix("pt")
        )

    assert wide(large) > 1.4 * wide(a4)


def test_words_only_and_pictures_only(tmp_path):
    words = made(tmp_path, PERSIAN_LINKED, "--pictures", "none")
    assert not [t for t, _ in words.tags if t == "svg"]
    assert "Open 1 ring, M1." in words.plain
    assert "What the signs mean" not in [h for _, h in words.headings]
    only = made(tmp_path, PERSIAN_LINKED, "--pictures", "only")
    assert all(len(told) == 1 for _, _, told in only.items)
    step = " ".join(" ".join(only.items[8][1]).split())
    assert step == "Step 9 2 × 2 rings, S1 and S2. Picks up 4 rings."
    # From which side is no matter of taste, so it is never left to the picture.
    assert "In the 1st, 3rd, 5th … unit from the back" in " ".join(only.items[7][1])
    assert "Fold both S rings of this unit back." in " ".join(only.items[9][1])


def test_variants_in_one_booklet(tmp_path):
    path = LIBRARY / "persian_linked.weave"
    page = made(tmp_path, path, "--all-variants")
    assert [h for level, h in page.headings if level == 2 and h.startswith("Variant")] == [
        "Variant calm",
        "Variant mirror",
        "Variant zigzag",
    ]
    # steps that say the same in every variant stand in the first alone
    assert [n for n, _, _ in page.items] == [*range(1, 11), 3, 8, 8]
    eighth = [" ".join(" ".join(w).split()) for n, w, _ in page.items if n == 8]
    assert "From the front, pass it" in eighth[0]
    assert "From the back, pass it" in eighth[1]
    assert "in the 2nd, 4th, 6th … from the front" in eighth[2]
    told = [a[0] for n, _, a in page.items if n == 8]
    assert "entering from the front" in told[0]
    assert "entering from the back" in told[1]
    ids = [a["id"] for _, a in page.tags if "id" in a]
    assert len(ids) == len(set(ids))
    two = made(tmp_path, path, "--variant", "mirror", "--variant", "calm")
    assert "variants mirror and calm" in two.plain
    assert [n for n, _, _ in two.items] == [*range(1, 11), 3, 8]
    assert "All steps that are not told here are those of mirror." in two.plain
    one = made(tmp_path, path, "--variant", "mirror")
    assert "variant mirror" in one.plain
    assert "Variant mirror" not in [h for _, h in one.headings]


def test_unknown_variants_are_told(tmp_path, capsys):
    target = tmp_path / "page.html"
    path = str(LIBRARY / "persian_linked.weave")
    assert main(["handout", path, "--to", str(target), "--variant", "mirrow"]) == 2
    assert "the nearest is 'mirror'" in capsys.readouterr().err
    path = str(LIBRARY / "byzantine.weave")
    assert main(["handout", path, "--to", str(target), "--all-variants"]) == 2
    assert "has no variants" in capsys.readouterr().err
    assert not target.exists()


def test_teachers_copy_counts_every_ring(shipped, tmp_path):
    """25 of each M and S: one of the start and 24 of the units."""
    student = shipped("persian_linked")
    page = made(tmp_path, LIBRARY / "persian_linked.weave", "--teacher", "--pictures", "none")
    assert "For the teacher" not in student.plain
    assert "The checks found no error." in page.plain
    assert "M1 25 25 0 7" in page.plain
    assert "H2 1 0 1" in page.plain
    assert "S2 25 25 0 6" in page.plain


# -- drafts --------------------------------------------------------------------------------------


def test_errors_print_nothing_and_say_why(tmp_path, capsys):
    target = tmp_path / "page.html"
    path = str(EXAMPLES / "missed_ring.weave")
    assert main(["handout", path, "--to", str(target)]) == 2
    err = capsys.readouterr().err
    assert "step 8" in err
    assert "has errors, so nothing is made from it" in err
    assert not target.exists()


def test_a_draft_is_stamped_and_tells_its_errors(tmp_path):
    page = made(tmp_path, EXAMPLES / "missed_ring.weave", "--draft")
    assert page.plain.count(DRAFT) == 2  # once to be read, once for every printed page
    each = page.named("each-page")
    assert [a.get("aria-hidden") for a in each] == ["true"]
    assert re.search(r"\.each-page \{[^}]*position: fixed", page.style)
    assert "What the checks found" in [h for _, h in page.headings]
    assert "error, line" in page.plain
    clean = made(tmp_path, SIMPLE)
    assert DRAFT not in clean.text
    assert made(tmp_path, SIMPLE, "--draft").plain.count(DRAFT) == 2


def test_a_draft_tells_the_steps_that_have_a_place_and_what_is_wrong(tmp_path, capsys):
    path = tmp_path / "odd.weave"
    path.write_text(SIMPLE.replace("chain 30 units", "sheet 8 rows of 12 units"), encoding="utf-8")
    target = tmp_path / "page.html"
    assert main(["handout", str(path), "--draft", "--to", str(target)]) == 0
    page = Page(target.read_text(encoding="utf-8"))
    assert "Close 1 ring, A" in page.plain
    assert "of the unit before" not in page.plain, "a sheet has rows, so no unit is worked"
    assert "error, line" in page.plain
    target.unlink()
    path.write_text('weave "Nothing"\n', encoding="utf-8")
    assert main(["handout", str(path), "--draft", "--to", str(target)]) == 2
    assert "nothing to hand out" in capsys.readouterr().err
    assert not target.exists()


# -- files and programs --------------------------------------------------------------------------


def test_where_the_page_goes(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    recipe = tmp_path / "class" / "cuff.weave"
    recipe.parent.mkdir()
    recipe.write_text(SIMPLE, encoding="utf-8")
    assert main(["handout", str(recipe), "--pictures", "none"]) == 0
    assert (tmp_path / "cuff-handout.html").exists()
    assert main(["handout", str(recipe), "--pictures", "none", "--to", str(recipe.parent)]) == 0
    assert (recipe.parent / "cuff-handout.html").exists()
    capsys.readouterr()
    linked = tmp_path / "linked.html"
    linked.symlink_to(recipe)
    for target in (recipe, tmp_path / "other.weave", linked):
        assert main(["handout", str(recipe), "--pictures", "none", "--to", str(target)]) == 2
        assert "and is left as it is; name another file" in capsys.readouterr().err
    assert recipe.read_text(encoding="utf-8") == SIMPLE
    assert not (tmp_path / "other.weave").exists()
    assert main(["handout", str(recipe), "--to", "x.pdf"]) == 2
    assert "add --pdf" in capsys.readouterr().err


def test_without_a_drawing_program_the_page_is_in_words(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("RINGSTEP_DOT", "/nowhere/dot")
    page = made(tmp_path, PERSIAN_LINKED)
    assert "The pictures are missing" in page.plain
    assert "pip install graphviz-pure" in page.plain
    assert not [told for _, _, told in page.items if told]
    assert [n for n, _, _ in page.items] == list(range(1, 11))
    assert "From the front, pass it through both H rings" in page.plain
    assert "the pictures are missing" in capsys.readouterr().err
    written = made(tmp_path, PERSIAN_WRITTEN)
    assert "The picture is that of step" not in written.plain
    (tmp_path / "page.html").unlink()
    target = str(tmp_path / "page.html")
    path = str(tmp_path / "test.weave")
    assert main(["handout", path, "--pictures", "only", "--to", target]) == 2
    assert "no page is made" in capsys.readouterr().err
    assert not Path(target).exists()


def test_without_the_extra_the_way_to_print_is_told(tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    page = made(tmp_path, SIMPLE, "--pdf", status=2)
    err = capsys.readouterr().err
    assert "pip install 'ringstep[pdf]'" in err
    assert "in a browser and print it" in err
    assert "scale 100 %" in err
    assert page.items
    assert not (tmp_path / "page.pdf").exists()


def test_pictures_keep_their_words_on_the_way_to_pdf(shipped):
    """What WeasyPrint is given: images with the same words, and nothing to fetch."""
    text = shipped("byzantine").text
    page = Page(_INLINE.sub(_as_image, text))
    before = [a["aria-label"] for t, a in shipped("byzantine").tags if t == "svg"]
    images = [a for t, a in page.tags if t == "img"]
    assert [a["alt"] for a in images] == before
    assert not [t for t, _ in page.tags if t == "svg"]
    assert all(a["src"].startswith("data:image/svg+xml;base64,") for a in images)


# -- words ---------------------------------------------------------------------------------------


def test_glossary_holds_the_words_that_occur_and_no_others(shipped, tmp_path):
    page = made(tmp_path, SIMPLE)
    terms = {e.term for e in glossary(page.plain)}
    assert {"AR (aspect ratio)", "ID", "AWG, SWG", "open, close", "the unit before"} <= terms
    assert not terms & {"fold back", "Möbius pair", "front, back", "row", "eye", "pair", "captive"}
    linked = shipped("persian_linked")
    more = {e.term for e in glossary(linked.plain)}
    assert {"fold back", "spread", "front, back", "Möbius pair"} <= more
    # 'eye protection' and the eye of a clasp are not the eye of a weave.
    assert glossary("eye protection, rest your eyes often, the small eye of the clasp") == ()
    assert [e.term for e in glossary("through the eye of the three")] == ["eye"]


def test_every_entry_is_needed_somewhere(shipped):
    texts = [
        "Turn the work over.",
        "Tie both A rings together.",
        "Open H and take it out.",
        "eye",
        "Tighten A.",
        "captive",
        "Picks up 2 rings.",
        "When strand left is done, go back to the start.",
    ]
    for name in ("persian_linked", "european_4", "byzantine", "chain_with_clasp"):
        texts.append(shipped(name).plain)
    found = {e.term for e in glossary(" ".join(texts))}
    assert found == {e.term for e in _ENTRIES}


def test_marks_are_those_of_the_key():
    marks, key = key_marks(None), key_diagram()
    assert len(marks) == len(key.captions)
    assert sum(len(m.nodes) + len(m.lines) for m in marks) == len(key.nodes) + len(key.lines)
    assert [m.title for m in marks] == [c.text for c in key.captions]
    assert all(m.alt and f"{m.alt}: {m.title}" in key.alt for m in marks)


def test_command_is_listed(capsys):
    with pytest.raises(SystemExit):
        main(["--help"])
    assert "handout" in capsys.readouterr().out
