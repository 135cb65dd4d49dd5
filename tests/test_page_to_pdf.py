"""What is handed to the program that makes a PDF, by one made up that only listens."""

from __future__ import annotations

import base64
import sys
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

from ringstep.paper.page import Enclosed, NoPdf, _entitled, pdf_bytes

SVG = '<svg role="img" aria-label="a ring" xmlns="x" width="12pt" height="9pt"><g/></svg>'


@pytest.fixture
def heard(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """What was handed on."""
    found: dict[str, Any] = {}

    class Page:
        def __init__(self, **told: Any) -> None:
            found["page"] = told

        def write_pdf(self, **told: Any) -> bytes:
            found["written"] = told
            return b"%PDF"

    maker, urls = ModuleType("weasyprint"), ModuleType("weasyprint.urls")
    maker.HTML = Page  # type: ignore[attr-defined]
    maker.Attachment = SimpleNamespace  # type: ignore[attr-defined]
    urls.URLFetcher = SimpleNamespace  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "weasyprint", maker)
    monkeypatch.setitem(sys.modules, "weasyprint.urls", urls)
    return found


def test_page_goes_to_a_pdf_with_its_pictures_and_what_it_was_made_from(
    heard: dict[str, Any],
) -> None:
    recipe = Enclosed("a.weave", b'weave "It"\n', "the recipe")
    assert pdf_bytes(f"<p>{SVG}</p>", [recipe]) == b"%PDF"
    page, written = heard["page"], heard["written"]
    assert page["string"].startswith('<p><img alt="a ring" style="width:12pt;height:9pt" src="data')
    assert page["base_url"] is None
    only = page["url_fetcher"]
    assert (only.allowed_protocols, only.fail_on_errors) == (("data",), True)
    assert (written["pdf_variant"], written["finisher"]) == ("pdf/ua-1", _entitled)
    (carried,) = written["attachments"]
    assert (carried.name, carried.description) == ("a.weave", "the recipe")
    assert carried.url_fetcher is only
    kind, _, data = carried.url.partition(",")
    assert kind == "data:text/plain;base64"
    assert base64.b64decode(data) == b'weave "It"\n'
    pdf_bytes("<p></p>")
    assert heard["written"]["attachments"] == []


def test_page_cannot_go_to_a_pdf_without_what_makes_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(NoPdf, match=r"a PDF needs WeasyPrint: pip install 'ringstep\[pdf\]'"):
        pdf_bytes("<p></p>")

    class Broken(ModuleType):
        def __getattr__(self, name: str) -> object:
            raise OSError("no library 'pango'\nmore of it")

    monkeypatch.setitem(sys.modules, "weasyprint", Broken("weasyprint"))
    with pytest.raises(NoPdf, match=r"it needs Pango on the system: no library 'pango'$"):
        pdf_bytes("<p></p>")


class Object(dict[str, Any]):
    """A part of a PDF that others name."""

    def __init__(self, name: str, **told: Any) -> None:
        super().__init__(told)
        self.reference = name.encode()


def test_page_says_in_its_pdf_that_it_was_made_from_what_it_carries() -> None:
    """And tells no date of what was printed just now."""
    spec, other = Object("7 0 R", Type="/Filespec"), Object("8 0 R", Type="/Page")
    params = {"CreationDate": "now", "ModDate": "now", "Size": 3}
    file = SimpleNamespace(extra={"Type": "/EmbeddedFile", "Params": params})
    odd = SimpleNamespace(extra=["no", "names"])
    pdf = SimpleNamespace(objects=[other, spec, file, odd], catalog={})
    _entitled(None, pdf)
    assert spec["AFRelationship"] == "/Source"
    assert "AFRelationship" not in other
    assert params == {"Size": 3}
    assert pdf.catalog == {"AF": "[7 0 R]"}
    two = [Object("7 0 R", Type="/Filespec"), Object("9 0 R", Type="/Filespec")]
    both = SimpleNamespace(objects=two, catalog={})
    _entitled(None, both)
    assert both.catalog == {"AF": "[7 0 R 9 0 R]"}
    none = SimpleNamespace(objects=[other], catalog={})
    _entitled(None, none)
    assert none.catalog == {}
