"""The PDF of a hand-out as a program reads it: for screen readers, and for whoever finds the paper.

Needs pdfdetach and pdftotext (poppler-utils) and the extras `pdf` and `test`;
`python tests/outside/pdf_ua.py` looks at every shipped weave, which takes minutes.
"""

from __future__ import annotations

import re
import subprocess
import sys
from functools import partial
from importlib.metadata import version
from pathlib import Path

import pikepdf
import pytest
from pdf_ua import faults

from ringstep.language.source import source_from_bytes
from ringstep.paper.page import Frame, Html, escaped, heading, joined, pdf_bytes, table, whole_page
from ringstep.weave.marks import text_mark

ROOT = Path(__file__).resolve().parents[2]

#: Pages that hold all there is on hand-outs, and every way to print them.
PAGES = {
    "a picture and its chart": "examples/heart_panel.weave --teacher",
    "a shape, on Letter": "examples/diamond_pendant.weave --paper letter",
    "pieces joined": "examples/joined_strips.weave",
    "sizes along the piece, large": "examples/graduated_strand.weave --large",
    "the booklet": "library/persian_linked.weave --all-variants",
    "a draft": "examples/missed_ring.weave --draft",
    "words only": "library/chain_with_clasp.weave --pictures none --photo-place",
}


def printed(folder: Path, recipe: str, *words: str) -> Path:
    """The PDF of a hand-out."""
    target = folder / "page.html"
    subprocess.run(
        [sys.executable, "-m", "ringstep", "handout", recipe, "--pdf", "--to", target, *words],
        cwd=ROOT,
        check=True,
        capture_output=True,
        timeout=300,
    )
    return target.with_suffix(".pdf")


@pytest.mark.parametrize("page", PAGES)
def test_a_screen_reader_can_read_it(page, tmp_path):
    assert faults(printed(tmp_path, *PAGES[page].split(), "--rings", "none")) == []


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("weave", ["byzantine", "chain_with_clasp", "japanese_12", "persian_6"])
def test_a_lesson_is_one_page(weave, paper, tmp_path):
    """With everything that can be asked for, for eight; prices are those of the clasped chain."""
    every = 10 if weave == "chain_with_clasp" else 30
    words = ["--students", "8", "--spares", "5", "--pace", "40", "--batch", "26-11"]
    words += ["--begin", "18:30", "--set-up", "15 min", "--closing", "10 min"]
    words += ["--break", f"5 min every {every} min"]
    if weave == "chain_with_clasp":
        words += ["--prices", "examples/prices.csv", "--hours", "3", "--rate", "25"]
        words += ["--margin", "40 % of the price", "--round", "0.50"]
    page = tmp_path / "lesson.html"
    subprocess.run(
        [sys.executable, "-m", "ringstep", "lesson", f"library/{weave}.weave", *words,
         "--sheet", page, "--paper", paper],
        cwd=ROOT, check=True, capture_output=True, timeout=300,
    )  # fmt: skip
    pdf = tmp_path / "lesson.pdf"
    pdf.write_bytes(pdf_bytes(page.read_text("utf-8")))
    with pikepdf.open(pdf) as read:
        assert len(read.pages) == 1
    assert faults(pdf) == []


@pytest.mark.parametrize("above", range(226, 244, 4))
def test_a_table_at_the_end_of_a_page_keeps_its_caption(above, tmp_path):
    """A caption alone at the foot would be a table without rows. above: mm that stand over it."""
    rows = [(escaped(str(row)), escaped("seen")) for row in range(6)]
    filler = Html(f'<div style="height: {above}mm">words</div>')
    body = joined([heading(1, "Title"), filler, table("Rings", ("ring", "what"), rows)])
    (tmp_path / "page.pdf").write_bytes(pdf_bytes(whole_page(Frame("Title"), body)))
    assert faults(tmp_path / "page.pdf") == []


# -- the recipe in its paper ---------------------------------------------------------------------

BYZANTINE = (ROOT / "library" / "byzantine.weave").read_bytes()
RECIPES = {
    "byzantine.weave": BYZANTINE,
    "Fäden (1) 環.weave": b"\xef\xbb\xbf" + BYZANTINE.replace(b"\n", b"\r\n") + b"# no line end",
    "wide.weave": BYZANTINE.decode("utf-8").encode("utf-16"),
}


@pytest.mark.parametrize("name", RECIPES)
def test_the_paper_carries_its_recipe_letter_for_letter(name, tmp_path):
    recipe, out = tmp_path / name, tmp_path / "out"
    recipe.write_bytes(RECIPES[name])
    out.mkdir()
    pdf = printed(tmp_path, str(recipe), "--pictures", "none")
    assert faults(pdf) == []
    run = partial(subprocess.run, check=True, capture_output=True, text=True, timeout=60)
    run(["pdfdetach", "-saveall", "-o", out, pdf])
    (found,) = out.iterdir()
    assert found.name == name
    assert found.read_bytes() == RECIPES[name]
    mark = text_mark(source_from_bytes(found.read_bytes(), found.name))
    told = run(["pdftotext", "-raw", pdf, "-"]).stdout
    assert re.findall(r"text mark (\S+)\. Made with ringstep (\S+)\.", " ".join(told.split())) == [
        (mark, version("ringstep"))
    ]
    with pikepdf.open(pdf) as made:
        (file,) = made.Root.AF
        assert file.AFRelationship == pikepdf.Name.Source  # ISO 32000-2, 7.11.3
        assert file.EF.F.Subtype == pikepdf.Name("/text/plain")
        assert str(file.Desc) == f"the recipe of these pages, text mark {mark}"
        assert str(made.docinfo["/Title"]) == "Byzantine chain"
        assert str(made.docinfo["/Creator"]) == f"ringstep {version('ringstep')}"


def test_the_same_recipe_gives_the_same_file(tmp_path):
    words = ("library/spiral_4.weave", "--pictures", "none")
    first_time = printed(tmp_path, *words).read_bytes()
    assert printed(tmp_path, *words).read_bytes() == first_time


# -- the check can fail --------------------------------------------------------------------------


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    """A page with diagrams and pictures of real rings."""
    pdf = printed(tmp_path_factory.mktemp("sound"), "library/simple_chain.weave")
    assert faults(pdf) == []
    return pdf


def first(pdf, kind):
    """The first element of a kind."""
    every = (x for x in pdf.objects if isinstance(x, pikepdf.Dictionary))
    return next(x for x in every if x.get("/S") == f"/{kind}")


def no_title(pdf):
    with pdf.open_metadata() as about:
        del about["dc:title"]


def no_claim(pdf):
    with pdf.open_metadata() as about:
        del about["pdfuaid:part"]


def set_in(kind, key, value):
    return lambda pdf: first(pdf, kind).__setitem__(key, value)


def unmarked(pdf):
    stream = pdf.pages[0].Contents
    stream.write(stream.read_bytes() + b"\n0 0 m 9 9 l S\n")


def loose_font(pdf):
    for found in pdf.objects:
        if isinstance(found, pikepdf.Dictionary) and found.get("/Type") == "/FontDescriptor":
            for key in {"/FontFile", "/FontFile2", "/FontFile3"} & set(found.keys()):
                del found[key]


BROKEN = {
    "an attachment without a name": (
        lambda pdf: pdf.Root.AF[0].__delitem__("/UF"), "an attachment without F and UF",
    ),
    "no title": (no_title, "no dc:title"),
    "no claim": (no_claim, "pdfuaid:part is not 1"),
    "no language": (lambda pdf: pdf.Root.__delitem__("/Lang"), "Lang"),
    "not marked": (lambda pdf: pdf.Root.__delitem__("/MarkInfo"), "Marked"),
    "file name in the window": (
        lambda pdf: pdf.Root.__delitem__("/ViewerPreferences"), "DisplayDocTitle",
    ),
    "a picture in no words": (lambda pdf: first(pdf, "Figure").__delitem__("/Alt"), "Alt"),
    "a level left out": (set_in("H2", "/S", pikepdf.Name.H4), "H4 after H1"),
    "an empty heading": (set_in("H2", "/K", pikepdf.Array()), "an empty H2"),
    "a list without items": (set_in("LI", "/S", pikepdf.Name.Div), "L holds Div"),
    "a cell without headers": (set_in("TD", "/A", pikepdf.Dictionary()), "a cell with headers []"),
    "a line in no words": (unmarked, "outside all marks"),
    "a font left out": (loose_font, "is not embedded"),
}  # fmt: skip


@pytest.mark.parametrize("what", BROKEN)
def test_the_check_of_a_pdf_can_fail(what, sound, tmp_path):
    breaks, told = BROKEN[what]
    with pikepdf.open(sound) as pdf:
        breaks(pdf)
        pdf.save(tmp_path / "broken.pdf")
    assert any(told in fault for fault in faults(tmp_path / "broken.pdf"))
