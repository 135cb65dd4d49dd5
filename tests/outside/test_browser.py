"""Hand-outs on paper, in a real browser and through WeasyPrint: what a student would hold.

Needs chromium, pdftotext and pdftoppm (poppler-utils), and the extra `pdf`; where one of them is
missing the tests fail, they never skip.
"""

from __future__ import annotations

import html
import re
import shutil
import subprocess
import sys
import zlib
from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

ROOT = Path(__file__).resolve().parents[2]
LIBRARY = ROOT / "library"
CHROMIUM = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
#: ISO 216 A4 is 210 by 297 mm; US Letter is 8.5 by 11 inches. In points of 1/72 inch.
PAPERS = {"a4": (210 / 25.4 * 72, 297 / 25.4 * 72), "letter": (612.0, 792.0)}
WEAVES = ["persian_linked", "byzantine", "european_4", "chain_with_clasp", "persian_linked_written"]

#: Names and words as long as anybody would write, and longer.
LONG = """\
weave "A chain whose title is far longer than any sensible title, with antidisestablishmentarian"
notes:
  about   Supercalifragilisticexpialidociousandmuchlongerstillwithoutanyblankinitatallforawholeline.
rings:
  connector  wire 1.2 mm, inside 7.0 mm, bright aluminium, colour anodisedinaverydeepshadeofblue
  all        wire 1.2 mm, inside 6.8 mm, aluminium
start:
  close 2 counterbalance
  add connector through counterbalance picks 2
    hint Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaftsvorsitz
unit:
  add 2 counterbalance through prev connector picks 1
  add connector through counterbalance picks 2
piece:
  chain 24 units
"""


def program(name: str) -> str:
    """A program that must be there."""
    found = shutil.which(name)
    assert found, f"{name} is not installed, and these tests cannot do without it"
    return found


def run(*command: str | Path) -> str:
    """What a program prints; it must end well."""
    done = subprocess.run(
        [str(c) for c in command],
        cwd=ROOT,
        text=True,
        capture_output=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


def chromium(profile: Path, page: Path, *words: str) -> str:
    """Run the browser on a page, with a profile of its own."""
    if not page.exists():
        raise AssertionError(f"{page} was not made")
    return run(program("chromium"), *CHROMIUM, f"--user-data-dir={profile}", *words, page.as_uri())


def handout(target: Path, recipe: Path, *words: str) -> str:
    """Make a page and read it."""
    run(sys.executable, "-m", "ringstep", "handout", recipe, "--to", target, *words)
    return target.read_text(encoding="utf-8")


@cache
def shipped(weave: str, *words: str) -> str:
    """The page of a shipped weave, made once for all who print it."""
    with TemporaryDirectory() as folder:
        return handout(Path(folder) / "handout.html", LIBRARY / f"{weave}.weave", *words)


# -- reading a PDF -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Word:
    """A word on a page, with its corners in points from the top left."""

    text: str
    page: int
    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True)
class Print:
    """A printed hand-out. sizes: width and height of each page in points."""

    sizes: list[tuple[float, float]]
    words: list[Word]
    text: str


def read(pdf: Path) -> Print:
    """Read a PDF back."""
    boxes = run(program("pdftotext"), "-bbox", pdf, "-")
    sizes, words = [], []
    number = r'"([\d.]+)"'
    for line in boxes.splitlines():
        if page := re.search(rf"<page width={number} height={number}", line):
            sizes.append((float(page[1]), float(page[2])))
        elif word := re.search(
            rf"<word xMin={number} yMin={number} xMax={number} yMax={number}>(.*)</word>", line
        ):
            at = [float(word[i]) for i in range(1, 5)]
            words.append(Word(html.unescape(word[5]), len(sizes), *at))
    return Print(sizes, words, run(program("pdftotext"), "-raw", pdf, "-"))


@dataclass(frozen=True)
class Ink:
    """What is dark on a printed page: its four rims, and where lines run down, in mm."""

    left: float
    top: float
    right: float
    bottom: float
    uprights: list[float]


DOTS = 150
#: A line that runs down the page without a gap for this long is the side of a frame, in mm.
SIDE = 20


def inked(pdf: Path) -> list[Ink]:
    """The ink of every page; rims are measured from the upper left corner."""
    run(program("pdftoppm"), "-r", str(DOTS), "-gray", pdf, pdf.with_suffix(""))
    found = []
    for path in sorted(pdf.parent.glob(f"{pdf.stem}-*.pgm")):
        head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data := path.read_bytes())
        assert head
        path.unlink()
        wide, dots = int(head[1]), data[head.end() :]
        columns = [dots[x::wide] for x in range(wide)]
        rows = [dots[y : y + wide] for y in range(0, len(dots), wide)]
        dark = [[n for n, line in enumerate(side) if min(line) < 200] for side in (columns, rows)]
        long = rb"[\x00-\x78]{%d,}" % (SIDE / 25.4 * DOTS)
        down = [x for x, column in enumerate(columns) if re.search(long, column)]
        rims = [dark[0][0], dark[1][0], dark[0][-1] + 1, dark[1][-1] + 1]
        lines = [x / DOTS * 25.4 for x in down if x - 1 not in down]
        found.append(Ink(*(n / DOTS * 25.4 for n in rims), lines))
    return found


def marked(page: str) -> str:
    """The page with a small word at the beginning and the end of every step, out of the flow."""
    count = 0

    def mark(found: re.Match[str]) -> str:
        nonlocal count
        count += 1
        first = f'<span class="probe" style="top:0;left:0">qb{count}q</span>'
        last = f'<span class="probe" style="bottom:0;right:0">qe{count}q</span>'
        return f"{found[1]}{first}{found[2]}{last}</section>"

    body = re.sub(r"(<section [^>]*data-step[^>]*>)(.*?)</section>", mark, page, flags=re.S)
    assert count
    style = ".step{position:relative}.probe{position:absolute;font-size:4pt;line-height:1}"
    return body.replace("</style>", f"{style}</style>", 1)


def split_steps(printed: Print) -> tuple[int, list[str]]:
    """How many steps were found, and those that begin on one page and end on another."""
    at: dict[str, dict[str, int]] = defaultdict(dict)
    for word in printed.words:
        if found := re.fullmatch(r"q([be])(\d+)q", word.text):
            at[found[2]][found[1]] = word.page
    # WeasyPrint leaves the mark at the end away where a step is split.
    return len(at), [n for n, ends in at.items() if ends.get("b") != ends.get("e")]


def by_browser(folder: Path, page: str) -> Print:
    """A page printed by the browser."""
    path, pdf = folder / "page.html", folder / "page.pdf"
    path.write_text(page, encoding="utf-8")
    pdf.unlink(missing_ok=True)
    chromium(folder / "profile", path, "--no-pdf-header-footer", f"--print-to-pdf={pdf}")
    return read(pdf)


def by_weasyprint(folder: Path, page: str) -> Print:
    """A page printed as `--pdf` does."""
    from ringstep.paper.page import pdf_bytes

    pdf = folder / "weasy.pdf"
    pdf.write_bytes(pdf_bytes(page))
    return read(pdf)


PRINTERS = {"browser": by_browser, "weasyprint": by_weasyprint}


def squeezed(words: str) -> str:
    """Words without spaces, and a word parted at the end of a line whole again."""
    return re.sub(r"[\s\u00ad]+", "", words)


def sentences(page: str) -> list[str]:
    """What the steps of a page say."""
    return [
        squeezed(html.unescape(re.sub(r"<[^>]+>", "", x)))
        for x in re.findall(r'<p class="do">(.*?)</p>', page, re.S)
    ]


# -- on paper ------------------------------------------------------------------------------------


@pytest.mark.parametrize("printer", PRINTERS)
@pytest.mark.parametrize("size", ["normal", "large"])
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("weave", WEAVES)
def test_on_paper(weave, paper, size, printer, tmp_path):
    words = ["--paper", paper, *(["--large"] if size == "large" else [])]
    page = shipped(weave, *words)
    printed = PRINTERS[printer](tmp_path, marked(page))
    assert 2 <= len(printed.sizes) <= 30
    for wide, high in printed.sizes:
        assert (wide, high) == pytest.approx(PAPERS[paper], abs=1.0)
    steps, split = split_steps(printed)
    assert steps == page.count("data-step=")
    assert split == []
    text = squeezed(printed.text)
    assert sentences(page)
    for told in sentences(page):
        assert told in text
    assert f"page{len(printed.sizes)}of{len(printed.sizes)}" in text
    wide, high = PAPERS[paper]
    for word in printed.words:
        assert 30 <= word.left <= word.right <= wide - 30, word
        assert 20 <= word.top <= word.bottom <= high - 10, word


@pytest.mark.parametrize("weave", ["persian_linked", "byzantine", "box_chain"])
def test_ten_steps_take_two_sides_and_all_of_it_four(weave, tmp_path):
    page = shipped(weave, "--paper", "a4")
    printed = by_weasyprint(tmp_path, marked(page))
    assert len(printed.sizes) <= 4
    begun = {w.page for w in printed.words if re.fullmatch(r"qb\d+q", w.text)}
    assert len(begun) <= 2


def test_a_step_with_a_tall_diagram_stands_on_one_page(tmp_path):
    """Seventeen steps; a seam of the cube is drawn with both its panels, one on the other."""
    recipe = ROOT / "examples" / "cube_of_panels.weave"
    page = handout(tmp_path / "handout.html", recipe)
    assert split_steps(by_weasyprint(tmp_path, marked(page))) == (17, [])


_FOLLOW = """<script>addEventListener("load", function () {
  var told = [], next = document.querySelector(".next"), back = document.querySelector(".back");
  function say() {
    var open = document.querySelectorAll(".screen:not([hidden])");
    told.push(open.length + " " + open[0].querySelector("h1, h3, h2").textContent.trim()
      + " | " + document.querySelector("nav p").textContent);
  }
  if (!sessionStorage.getItem("again")) {
    say();
    for (var k = 0; k < 11; k++) next.click();
    say(); next.click(); say(); back.click(); say();
    document.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowRight" })); say();
    sessionStorage.setItem("again", told.join(";"));
    location.reload();
    return;
  }
  say();
  for (k = 0; k < 2000 && !next.disabled; k++) next.click();
  say(); told.push(k); document.querySelector(".again").click(); say();
  var made = document.createElement("pre");
  made.id = "told"; made.textContent = sessionStorage.getItem("again") + ";" + told.join(";");
  document.body.append(made);
});</script></body>"""


def test_the_page_to_follow_goes_round_and_keeps_its_place(tmp_path):
    """Counted by hand: two screens before five steps of the start, then 24 times five steps, and
    one at the end: from the first to the last Next is pressed 2 + 5 + 120 + 1 - 1 times."""
    page = handout(tmp_path / "follow.html", LIBRARY / "persian_linked.weave", "--screen")
    path = tmp_path / "probed.html"
    path.write_text(page.replace("</body>", _FOLLOW, 1), encoding="utf-8")
    words = ["--window-size=390,844", "--virtual-time-budget=20000", "--dump-dom"]
    dom = chromium(tmp_path / "profile", path, *words)
    told = html.unescape(re.search(r'<pre id="told">(.*?)</pre>', dom, re.S)[1]).split(";")
    assert told == [
        "1 Persian chain with linked middle pairs | ",
        "1 Step 10 | unit 1 of 24, from the back",
        "1 The unit | unit 2 of 24, from the front",
        "1 Step 10 | unit 1 of 24, from the back",
        "1 The unit | unit 2 of 24, from the front",
        "1 The unit | unit 2 of 24, from the front",  # after the page was loaded again
        "1 When it is done | ",
        str(127 - 12),
        "1 Persian chain with linked middle pairs | ",
    ]


def told_pictures(pdf: Path) -> list[bytes]:
    """The words for each picture that a PDF hands to a screen reader, its `/Alt` entries."""
    data = pdf.read_bytes()
    for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", data, re.S):
        try:
            data += zlib.decompress(stream)
        except zlib.error:
            continue  # a font or a picture that is packed otherwise
    return [
        re.sub(rb"\\(.)", rb"\1", x) for x in re.findall(rb"/Alt\s*\((.*?)(?<!\\)\)", data, re.S)
    ]


@pytest.mark.parametrize("printer", PRINTERS)
def test_pictures_are_told_in_the_pdf_too(printer, tmp_path):
    page = handout(tmp_path / "handout.html", LIBRARY / "byzantine.weave")
    PRINTERS[printer](tmp_path, page)
    pdf = tmp_path / {"browser": "page.pdf", "weasyprint": "weasy.pdf"}[printer]
    wanted = [
        html.unescape(x).encode() for x in re.findall(r'<svg [^>]*aria-label="([^"]*)"', page)
    ]
    assert len(wanted) == page.count("<svg ") > 9
    assert sorted(told_pictures(pdf)) == sorted(wanted)


def test_the_command_prints_a_pdf(tmp_path):
    """`--pdf` by itself, on Letter, with the page beside it."""
    target = tmp_path / "class.html"
    handout(target, LIBRARY / "byzantine.weave", "--pdf", "--paper", "letter")
    printed = read(tmp_path / "class.pdf")
    assert set(printed.sizes) == {PAPERS["letter"]}
    assert "Byzantine chain" in printed.text


@pytest.mark.parametrize("printer", PRINTERS)
def test_the_check_for_split_steps_can_fail(printer, tmp_path):
    page = handout(tmp_path / "handout.html", LIBRARY / "persian_linked.weave", "--large")
    broken = marked(page).replace("break-inside: avoid", "break-inside: auto")
    broken = broken.replace(".step{", ".step{padding-bottom:9cm !important;", 1)
    assert split_steps(PRINTERS[printer](tmp_path, broken))[1]


@pytest.mark.parametrize("printer", PRINTERS)
def test_the_title_of_a_variant_stands_on_the_page_of_its_first_step(printer, tmp_path):
    """Ten steps in the first variant; of the others 3 and 8, and 8, which say something else."""
    page = handout(
        tmp_path / "handout.html", LIBRARY / "persian_linked.weave", "--all-variants", "--teacher"
    )
    printed = PRINTERS[printer](tmp_path, marked(page))
    steps, split = split_steps(printed)
    assert (steps, split) == (13, [])
    heads = [
        word.page
        for word, after in zip(printed.words, printed.words[1:], strict=False)
        if word.text == "Variant" and after.text in ("calm", "mirror", "zigzag")
    ]
    begun = {w.text: w.page for w in printed.words if re.fullmatch(r"qb\d+q", w.text)}
    assert heads == [begun["qb1q"], begun["qb11q"], begun["qb13q"]]


@pytest.mark.parametrize("printer", PRINTERS)
@pytest.mark.parametrize("paper", PAPERS)
def test_every_page_of_a_draft_is_stamped_beside_its_words(paper, printer, tmp_path):
    recipe = ROOT / "examples" / "missed_ring.weave"
    page = handout(tmp_path / "handout.html", recipe, "--draft", "--paper", paper)
    printed = PRINTERS[printer](tmp_path, page)
    for number in range(1, len(printed.sizes) + 1):
        here = [w for w in printed.words if w.page == number]
        stamps = [w for w in here if w.text == "UNCHECKED"]
        # One runs down the page; the first page says it across as well.
        turned = [w for w in stamps if w.bottom - w.top > w.right - w.left]
        assert len(turned) == 1
        left, high = turned[0].left, PAPERS[paper][1]
        others = [
            w for w in here if w.right - w.left > 4 and w.left < left and w.bottom < high - 45
        ]
        assert others
        assert max(w.right for w in others) < left
    clean = handout(tmp_path / "clean.html", LIBRARY / "byzantine.weave")
    assert "UNCHECKED" not in PRINTERS[printer](tmp_path, clean).text


# -- the packing slip ----------------------------------------------------------------------------


def slip(folder: Path, recipe: Path, *words: str) -> str:
    """The page of a kit."""
    target = folder / "slip.html"
    run(sys.executable, "-m", "ringstep", "kit", recipe, "--slip", target, *words)
    return target.read_text(encoding="utf-8")


@pytest.mark.parametrize("paper", PAPERS)
def test_every_frame_of_a_slip_is_whole(paper, tmp_path):
    """Two cards in a row have four sides, all of them between the margins of 15 mm."""
    page = slip(tmp_path, LIBRARY / "chain_with_clasp.weave", "--pieces", "8", "--paper", paper)
    by_browser(tmp_path, page)
    pages = inked(tmp_path / "page.pdf")
    wide = PAPERS[paper][0] / 72 * 25.4
    assert len(pages) >= 2
    for ink in pages:
        assert ink.left >= 14.5  # a letter may lean out of its box by a hair
        assert ink.right <= wide - 14.5
    for ink in pages[:2]:
        assert len(ink.uprights) == 4
        assert ink.uprights[0] == pytest.approx(15, abs=0.5)
        assert ink.uprights[3] == pytest.approx(wide - 15.5, abs=0.5)


@pytest.mark.parametrize("weave", ["graduated_strand", "long"])
def test_labels_stay_whole_and_hold_their_words(weave, tmp_path):
    """The shortest and the longest names; each label stands on one page, on paper of its own."""
    recipe = ROOT / "examples" / f"{weave}.weave"
    if weave == "long":
        recipe = tmp_path / "long.weave"
        recipe.write_text(LONG, encoding="utf-8")
    page = slip(tmp_path, recipe, "--pieces", "12", "--spares", "10")
    assert overflow(tmp_path, page, 179.5) == []
    count = page.count('<section class="label">')
    assert count >= 2
    probed = re.sub(
        r'(<section class="label">)(.*?)</section>',
        lambda m: f'{m[1]}<section class="step" data-step="0">{m[2]}</section></section>',
        page,
        flags=re.S,
    )
    printed = by_browser(tmp_path, marked(probed))
    assert split_steps(printed) == (count, [])
    first = {w.page for w in printed.words if re.fullmatch(r"qb\d+q", w.text)}
    assert not first & {w.page for w in printed.words if w.text in ("Kit", "Shopping")}
    for word in printed.words:
        assert 41 <= word.left <= word.right <= PAPERS["a4"][0] - 41, word


# -- on the screen -------------------------------------------------------------------------------

_MEASURE = """
<script>
addEventListener("load", () => {
  const bad = [];
  for (const one of document.querySelectorAll("body, body *")) {
    if (one.closest("svg") && one.tagName !== "svg") continue;
    if (one.scrollWidth > one.clientWidth + 1 && one.clientWidth > 0)
      bad.push(one.tagName + "." + one.className + " holds " + one.scrollWidth
        + " in " + one.clientWidth);
    const box = one.getBoundingClientRect(), column = document.body.getBoundingClientRect();
    if (box.right > column.right + 1 && getComputedStyle(one).display !== "none")
      bad.push(one.tagName + "." + one.className + " ends at " + box.right);
  }
  const told = document.createElement("pre");
  told.id = "measured";
  told.textContent = document.querySelectorAll("body *").length + " elements\\n" + bad.join("\\n");
  document.body.append(told);
});
</script>
"""


def overflow(folder: Path, page: str, wide_mm: float) -> list[str]:
    """The elements that do not fit a column of that width, as the browser measures them."""
    column = f"<style>body {{ width: {wide_mm}mm; max-width: none; padding: 0; }}</style>"
    path = folder / "measured.html"
    path.write_text(page.replace("</head>", f"{column}{_MEASURE}</head>"), encoding="utf-8")
    dom = chromium(folder / "profile", path, "--window-size=1400,1000", "--dump-dom")
    found = re.search(r'<pre id="measured">(.*?)</pre>', dom, re.S)
    assert found, "the browser measured nothing"
    lines = html.unescape(found[1]).strip().splitlines()
    assert int(lines[0].split()[0]) > 50
    return lines[1:]


@pytest.mark.parametrize("size", ["normal", "large"])
@pytest.mark.parametrize("weave", [*WEAVES, "long"])
def test_nothing_runs_out_of_its_column(weave, size, tmp_path):
    """The printed column of A4, the narrower of the two papers, is 179.5 mm wide."""
    recipe = LIBRARY / f"{weave}.weave"
    if weave == "long":
        recipe = tmp_path / "long.weave"
        recipe.write_text(LONG, encoding="utf-8")
    words = ["--teacher", "--draft", *(["--large"] if size == "large" else [])]
    page = handout(tmp_path / "handout.html", recipe, *words)
    assert overflow(tmp_path, page, 179.5) == []


@pytest.mark.parametrize("size", [[], ["--large"]])
def test_the_place_for_a_photo(size, tmp_path):
    """60 by 45 mm at 96 dots an inch in any size of print; only where it is asked for."""
    words = ["--pictures", "none", *size]
    recipe = LIBRARY / "chain_with_clasp.weave"
    assert "Place for" not in handout(tmp_path / "page.html", recipe, *words)
    page = handout(tmp_path / "page.html", recipe, "--photo-place", *words)
    told = (
        '<script>addEventListener("load", () => {'
        'const box = document.querySelector(".photo").getBoundingClientRect();'
        "document.title = box.width + ' ' + box.height; });</script></head>"
    )
    (tmp_path / "measured.html").write_text(page.replace("</head>", told), encoding="utf-8")
    dom = chromium(tmp_path / "profile", tmp_path / "measured.html", "--dump-dom")
    found = re.search(r"<title>([\d.]+) ([\d.]+)</title>", dom)
    assert found
    assert [float(n) / 96 * 25.4 for n in found.groups()] == pytest.approx([60, 45], abs=0.2)
    assert overflow(tmp_path, page, 179.5) == []


def test_the_measure_of_overflow_can_fail(tmp_path):
    page = handout(tmp_path / "handout.html", LIBRARY / "byzantine.weave")
    wide = page.replace("<h1>", '<div style="width: 300mm">too wide</div><h1>', 1)
    assert any("DIV" in x for x in overflow(tmp_path, wide, 180))


def test_long_names_on_paper(tmp_path):
    recipe = tmp_path / "long.weave"
    recipe.write_text(LONG, encoding="utf-8")
    for words in ([], ["--large", "--paper", "letter"]):
        page = handout(tmp_path / "handout.html", recipe, *words)
        for printer in PRINTERS.values():
            steps, split = split_steps(printer(tmp_path, marked(page)))
            assert steps == 4
            assert split == []
