"""What the page asks beside itself: `python -m ringstep.commands.table_worker`; see `table.worker`.

A question has `about`, the `text` of a recipe and its `name`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from ringstep.commands.rim import own_fault, ready_to_compute
from ringstep.language.source import Refused, source_from_bytes
from ringstep.table.worker import Data, serve

if TYPE_CHECKING:
    from ringstep.checks.view import View


def _view(question: Data) -> View:
    """The recipe of a question. Raises `Refused`."""
    from ringstep.checks.pipeline import view_of
    from ringstep.weave.effort import within_bounds

    data = question["text"].encode("utf-8", "surrogatepass")
    seen = view_of(source_from_bytes(data, question["name"]))
    within_bounds(seen)
    return seen


def _findings(question: Data) -> Iterator[Data]:
    """The first words at once; then all there is to say, and what was measured if it is clean."""
    from ringstep.checks.pipeline import findings_of, first_findings, has_errors, symptom
    from ringstep.checks.report import finding_data
    from ringstep.checks.summary import summary_lines

    seen = _view(question)
    first = first_findings(seen)
    shows = None if has_errors(first) else symptom(seen)
    told = f"line {shows.span.line}: {shows.message}" if shows else ""
    yield {"first": [finding_data(f) for f in first], "symptom": told}
    seen = _view(question)
    findings = findings_of(seen)
    errors = has_errors(findings)
    steps = bool(seen.recipe.every_block)
    yield {
        "findings": [finding_data(f) for f in findings],
        "summary": () if errors else summary_lines(seen),
        "sound": steps and not errors,
    }


def _rings(question: Data) -> Iterator[Data]:
    """The rings after every step, as `ring_data` tells them."""
    from ringstep.commands.fit_store import known_fit
    from ringstep.space.second import Second
    from ringstep.table.ring_data import ring_data, to_json_able

    seen = _view(question)
    with Second() as second:
        for data in ring_data(seen, known_fit(seen), second):
            yield {"rings": to_json_able(data)}


def _kit(question: Data) -> Iterator[Data]:
    """A kit and the sizes of its rings, as HTML; or why there is none, in words."""
    from ringstep.commands.kit import computed_length
    from ringstep.commands.sizes import own_sizes
    from ringstep.paper.kit_tables import kit_page
    from ringstep.paper.printed_page import as_html
    from ringstep.shop.kit import kit_of
    from ringstep.shop.wish import read_wish

    seen = _view(question)
    wanted = {name: str(value) for name, value in question["wish"].items() if value}
    try:
        wish = read_wish(
            wanted.get("length"), wanted.get("clasp"), wanted.get("ease"),
            wanted.get("pieces", "1"), wanted.get("spares", "0"), pace=wanted.get("pace"),
        )  # fmt: skip
        kit = kit_of(seen, wish, computed=computed_length(seen, wish))
        yield {"kit": as_html(kit_page(kit))}
    except Refused as fault:
        yield {"no_kit": str(fault)}
    try:
        yield {"sizes": as_html(replace(own_sizes(seen), title="Sizes of its rings"))}
    except Refused as fault:
        yield {"no_sizes": str(fault)}


def _answer(question: Data) -> Iterator[Data]:
    """The answers to one question."""
    about = {"findings": _findings, "rings": _rings, "kit": _kit}
    try:
        yield from about[question["about"]](question)
    except Refused as fault:
        yield {"refused": str(fault)}


def _warm() -> None:
    """Import what a first question would wait for, and what no newer one can interrupt."""
    from importlib import import_module

    from ringstep.checks.rules import all_checks

    all_checks()
    for name in ("checks.blame", "checks.summary", "paper.kit_tables", "shop.kit"):
        import_module(f"ringstep.{name}")


if __name__ == "__main__":
    ready_to_compute()
    _warm()
    serve(_answer, lambda fault: str(own_fault(fault)))
