"""A ring that does not lie around, or inside, the rings it is promised to.

A ring that is held and not linked meets nothing, so 'meets' cannot guard it. 'captive lies around
1 small' does: every captive is held against it, but for those whose list reaches off the piece.

Wrong:

    weave "Pairs with a captive ring"
    rings:
      all      wire 1.2 mm, inside 5 mm, copper
      captive  wire 1.2 mm, inside 9 mm, brass
    expect:
      A meets 4
      captive lies around 2 A
    start:
      close 2 A
    unit:
      add 2 A through prev A
      close captive around A1
    piece:
      chain 30 units

Right:

    weave "Pairs with a captive ring"
    rings:
      all      wire 1.2 mm, inside 5 mm, copper
      captive  wire 1.2 mm, inside 9 mm, brass
    expect:
      A meets 4
      captive lies around 2 A
    start:
      close 2 A
    unit:
      add 2 A through prev A
      close captive around A
    piece:
      chain 30 units
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.promised import InAll, Lies
from ringstep.language.source import Span
from ringstep.language.syntax import Step
from ringstep.language.words import listed
from ringstep.weave.phrases import places_phrase, rings_word, wanted_phrase
from ringstep.weave.promises import by_place, count_words, held, in_order, near_of, off, places_of

RULE = Rule("held-count", "error")


def check(view: View) -> Iterator[Finding]:
    """Rings that are held, against what is promised of them; once a step and a promise."""
    weave = view.weave
    if not view.recipe.lies or not view.steps_read or not view.fits:
        return
    if view.diagnosis.snagged:
        return
    told: set[tuple[int, int]] = set()
    measured: dict[Lies, set[str]] = {}
    wrong = []
    for how in ("around", "inside"):
        for ring, others in held(weave, how).items():
            for promise in weave.lies(ring.role, ring.index):
                if promise.how != how or others is None:
                    continue
                found = Counter(other.role for other in others)
                places = places_of(weave, ring, others)
                words = count_words(places if by_place(promise) else _anywhere(found))
                measured.setdefault(promise, set()).add(words)
                step = weave.work.acts[weave.work.placed_by[ring]].step
                key = (step.number, promise.span.line)
                if off(promise.choices, found, places) and key not in told:
                    told.add(key)
                    wrong.append((weave.name(ring), step, promise, found, places))
    for name, step, promise, found, places in wrong:
        said = _measured(promise, found, places)
        yield Finding(
            RULE,
            _where(step),
            f"{name} lies {promise.how} {said}, not"
            f" {listed([wanted_phrase(w) for w in promise.choices], 'or')} as promised",
            labels=(Label(promise.span, "promised here"),),
            help=tuple(_help(promise, measured[promise])),
        )


def _anywhere(found: Counter[str]) -> dict[tuple[str, int, int], int]:
    return {(role, 0, 0): count for role, count in found.items()}


def _measured(promise: Lies, found: Counter[str], places: Counter[tuple[str, int, int]]) -> str:
    counted = [w for w in promise.choices if not isinstance(w, InAll)]
    if not counted:
        return rings_word(found.total())
    order = [near_of(c) for w in counted for c in w.counts]
    return places_phrase(in_order(places if by_place(promise) else _anywhere(found), order))


def _help(promise: Lies, measured: set[str]) -> Iterator[str]:
    yield f"name behind '{promise.how}' every ring that it lies {promise.how}"
    if len(measured) == 1 and (words := next(iter(measured))):
        line = f"{promise.name} lies {promise.how} {words}"
        yield f"or, if it lies as you mean it, promise '{line}'"


def _where(step: Step) -> Span:
    held_in = step.around or step.inside
    return held_in[0].span.to(held_in[-1].span) if held_in else step.span
