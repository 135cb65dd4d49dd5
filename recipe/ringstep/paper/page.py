"""The frame of every printed page: paper, style sheet, escaping, and the parts pages are made of.

Comes in: words. Goes out: `Html`, complete and self-contained: no script, no picture file, no font
and no address of anything elsewhere. Functions that take `str` escape it; functions that take
`Html` put it in as it is, so that mypy tells the two apart.
"""

from __future__ import annotations

import base64
import html
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, NewType

from ringstep.language.screen import safe
from ringstep.language.shipped import made_by

Html = NewType("Html", str)
Paper = Literal["a4", "letter"]

#: Margins in mm: top, right, bottom, left. The foot of the page holds title and page number.
MARGINS = (14, 15, 17, 15)
#: The room at the right of every page, in mm, that the stamp runs down in. No browser prints a
#: fixed element in the margin of its own page, so the stamp stands inside the column.
STAMP_WIDE = 10
#: Kept free at the right edge of the column, in mm: a browser rounds lengths to whole dots and cuts
#: off what ends a part of one past the column, such as the right border of a frame.
ROUNDING = 0.5
#: Width and height in mm: ISO 216, and 8.5 by 11 inches.
SIZES: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
#: Size of the running text in points; 18 is what is commonly called large print (from memory).
TYPE, LARGE_TYPE = 10.0, 18.0


@dataclass(frozen=True, slots=True)
class Frame:
    """What a page is printed on and under what name.

    title: of the page, also at its foot. stamp: words that every printed page must carry, or "".
    """

    title: str
    paper: Paper = "a4"
    large: bool = False
    stamp: str = ""

    @property
    def text_wide(self) -> float:
        """The width of the printed column in mm."""
        return SIZES[self.paper][0] - MARGINS[1] - MARGINS[3] - self.kept_free

    @property
    def kept_free(self) -> float:
        """What stays empty at the right of the column in mm."""
        return STAMP_WIDE if self.stamp else ROUNDING


# -- words to HTML -------------------------------------------------------------------------------


def escaped(words: str) -> Html:
    """Words as HTML, in text and in attributes alike; control and direction marks are shown."""
    return Html(html.escape(safe(words), quote=True))


def joined(parts: Iterable[Html]) -> Html:
    """Several pieces of HTML, one after the other."""
    return Html("\n".join(p for p in parts if p))


def element(name: str, inside: Html, kind: str = "", **attributes: str) -> Html:
    """One element. kind: its class; attributes: names with `_` for `-`, values escaped."""
    given = {"class": kind, **attributes}
    told = "".join(
        f' {key.strip("_").replace("_", "-")}="{escaped(value)}"'
        for key, value in given.items()
        if value
    )
    return Html(f"<{name}{told}>{inside}</{name}>")


def heading(level: int, words: str, ident: str = "") -> Html:
    """A heading of level 1 to 6."""
    return element(f"h{level}", escaped(words), id=ident)


def paragraph(words: str, kind: str = "") -> Html:
    """A paragraph."""
    return element("p", escaped(words), kind)


def bullets(items: Iterable[Html], kind: str = "") -> Html:
    """A list without numbers; nothing where there are no items."""
    told = joined(element("li", i) for i in items)
    return element("ul", Html(f"\n{told}\n"), kind) if told else Html("")


def tick(label: str) -> Html:
    """A box to tick, on paper or on a screen; label: what a screen reader calls it."""
    return Html(f'<input type="checkbox" class="tick" aria-label="{escaped(label)}">')


def table(
    caption: str,
    heads: Sequence[str],
    rows: Iterable[Sequence[Html]],
    numbers: Iterable[int] = (),
    kind: str = "",
) -> Html:
    """A table; the first cell of every row is its heading. numbers: columns set to the right."""
    right = frozenset(numbers)

    def cells(row: Iterable[Html], scopes: Sequence[str]) -> Html:
        return joined(
            element("th" if scope else "td", c, "number" if at in right else "", scope=scope)
            for (at, c), scope in zip(enumerate(row), scopes, strict=True)
        )

    head = cells(map(escaped, heads), ["col"] * len(heads))
    scopes = ["row", *[""] * (len(heads) - 1)]
    body = joined(element("tr", cells(row, scopes)) for row in rows)
    return Html(
        f"<table{f' class={kind!r}' if kind else ''}>\n"
        f"{element('caption', escaped(caption)) if caption else ''}\n"
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{body}\n</tbody>\n</table>"
    )


def beside(name: str, code: str = __file__) -> str:
    """The text of a file that lies beside the code, such as a style sheet."""
    return Path(code).with_name(name).read_text(encoding="utf-8")


# -- the page ------------------------------------------------------------------------------------


def css_string(words: str) -> str:
    """Words as a string of a style sheet: every mark that could end it is written as a number.

    A blank behind such a number belongs to it, so one is always written.
    """
    plain = "".join(c if c.isalnum() or c in " .,-" else f"\\{ord(c):06x} " for c in safe(words))
    return f'"{plain}"'


def _paper_style(frame: Frame) -> str:
    top, right, bottom, left = MARGINS
    size = "A4" if frame.paper == "a4" else "letter"
    small = 'font-family: "Liberation Sans", Arial, Helvetica, sans-serif; color: #444444;'
    return (
        f"@page {{ size: {size} portrait; margin: {top}mm {right}mm {bottom}mm {left}mm;\n"
        f"  @bottom-left {{ content: {css_string(frame.title[:80])}; {small} font-size: 9pt; }}\n"
        f'  @bottom-right {{ content: "page " counter(page) " of " counter(pages); {small}'
        " font-size: 9pt; }\n}\n"
        f"html {{ font-size: {LARGE_TYPE if frame.large else TYPE:g}pt; }}\n"
        f"@media print {{ body {{ padding-right: {frame.kept_free}mm; }} }}\n"
    )


def whole_page(frame: Frame, body: Html, style: str = "") -> str:
    """A whole page. style: what this kind of page adds to the common style sheet."""
    stamp, large = "", ' class="large"' if frame.large else ""
    if frame.stamp:
        stamp = (
            f'<p class="stamp" role="note">{escaped(frame.stamp)}</p>\n'
            f'<div class="each-page" aria-hidden="true">{escaped(frame.stamp)}</div>\n'
        )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<meta name="generator" content="{escaped(made_by())}">\n'
        f"<title>{escaped(frame.title)}</title>\n"
        f"<style>\n{_paper_style(frame)}{beside('page.css')}{style}</style>\n</head>\n"
        f"<body{large}>\n{stamp}<main>\n{body}\n</main>\n</body>\n</html>\n"
    )


# -- to PDF --------------------------------------------------------------------------------------


class NoPdf(Exception):
    """No PDF can be made; the text says what is missing."""


_INLINE = re.compile(
    r'<svg role="img" aria-label=("[^"]*"|\'[^\']*\')[^>]*? width="([\d.]+pt)" height="([\d.]+pt)"'
    r".*?</svg>",
    re.S,
)


def _as_image(found: re.Match[str]) -> str:
    """A picture as an image that carries its words: WeasyPrint hands on those of images only."""
    data = base64.b64encode(found[0].encode("utf-8")).decode("ascii")
    return (
        f'<img alt={found[1]} style="width:{found[2]};height:{found[3]}"'
        f' src="data:image/svg+xml;base64,{data}">'
    )


@dataclass(frozen=True, slots=True)
class Enclosed:
    """The plain text that a PDF was made from and carries with it. words: what it is."""

    name: str
    data: bytes
    words: str


def _entitled(_: object, pdf: Any) -> None:
    """Say that the pages were made from what they carry, and leave out dates: of printing only."""
    carried = []
    for made in pdf.objects:
        told = getattr(made, "extra", made)
        kind = told.get("Type") if isinstance(told, dict) else ""
        if kind == "/Filespec":
            told["AFRelationship"] = "/Source"
            carried.append(made.reference.decode())
        elif kind == "/EmbeddedFile":
            del told["Params"]["CreationDate"], told["Params"]["ModDate"]
    if carried:
        pdf.catalog["AF"] = f"[{' '.join(carried)}]"


def pdf_bytes(page: str, enclosed: Sequence[Enclosed] = ()) -> bytes:
    """A page of `whole_page` printed to PDF/UA-1 by WeasyPrint, with what it was made from.

    Nothing is fetched from elsewhere. Raises `NoPdf` where WeasyPrint is missing.
    """
    try:
        from weasyprint import HTML, Attachment
        from weasyprint.urls import URLFetcher
    except ImportError:
        raise NoPdf("a PDF needs WeasyPrint: pip install 'ringstep[pdf]'") from None
    except OSError as fault:  # WeasyPrint is there, and a library of the system is not.
        told = str(fault).splitlines()[0]
        raise NoPdf(f"WeasyPrint does not start, it needs Pango on the system: {told}") from None
    only_data = URLFetcher(allowed_protocols=("data",), fail_on_errors=True)
    whole = HTML(string=_INLINE.sub(_as_image, page), base_url=None, url_fetcher=only_data)
    carried = []
    for one in enclosed:
        text = f"data:text/plain;base64,{base64.b64encode(one.data).decode('ascii')}"
        carried.append(Attachment(url=text, url_fetcher=only_data, name=one.name))
        carried[-1].description = one.words
    made: bytes = whole.write_pdf(pdf_variant="pdf/ua-1", attachments=carried, finisher=_entitled)
    return made
