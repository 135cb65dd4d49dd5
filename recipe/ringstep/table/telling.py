"""What stands at a place of a text, in a maker's words: a ring, a step, a word of the language."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ringstep.checks.summary import finished_facts
from ringstep.language.names import Named
from ringstep.language.source import Span
from ringstep.language.syntax import PLACING, Block, Step, joined
from ringstep.language.words import listed, plural
from ringstep.language.words_page import beside_words, phrase_at
from ringstep.paper.sentences import Speaker
from ringstep.paper.steps_text import Need
from ringstep.table.seen import Seen, seen

#: Steps that are named one by one; of more it is said how many there are.
_MOST_STEPS = 6


@dataclass(frozen=True, slots=True)
class Told:
    """What is said of a stretch of the text, line by line; the first stands alone."""

    span: Span
    lines: tuple[str, ...]


def hover(text: str, line: int, column: int) -> Told | None:
    """What stands at a place: a ring or part with its size, count, promises and steps; a step with
    its sentence; a word of the language with its meaning. None where nothing is to be said."""
    now = seen(text)
    if now is None or line not in now.standing:
        return None
    if named := now.named_at(line, column):
        return Told(named.span, tuple(_of_ring(now, named)))
    span = now.word_at(line, column)
    words = tuple(_of_word(now, span)) if span else ()
    if line not in now.steps:
        return Told(span, words) if span and words else None
    step, block, _ = now.steps[line]
    if span and span.column > step.span.column and words:
        return Told(span, words)
    return Told(step.span, (*_of_step(now, step, block), *words))


# -- words and steps -----------------------------------------------------------------------------


def _of_word(now: Seen, span: Span) -> Iterator[str]:
    """What a word of the language means, as the page of words says it."""
    stands, plain = now.standing[span.line], now.line(span.line)
    before = plain[: span.column - 1].replace(",", " ").split()
    word = plain[span.column - 1 : span.end - 1].casefold()
    behind = plain[span.end - 1 :].replace(",", " ").replace(":", " ").split()
    if stands.section == "notes" and not stands.heads:
        return
    words = [w.casefold() for w in (*before, word, *behind)]
    if stands.rule == "step" and words[0] == "hint" and before:
        return  # the author's own words
    if found := phrase_at(stands.rule, stands.section, words, len(before)):
        yield f"{found.phrase}: {found.sentence[:1].lower()}{found.sentence[1:]}"
        yield f"As in: {found.example}"
    elif word.isalpha():
        yield from beside_words(word)


def _of_step(now: Seen, step: Step, block: Block) -> Iterator[str]:
    """A step as the step list prints it, where the piece can be carried out."""
    view = now.steps[step.span.line][2]
    act = Speaker(view).told.get(step.number) if now.whole else None
    if act is None or any(f.weight for f in view.faults):
        yield f"Step {step.number}, in '{block}:'"
    else:
        yield f"Step {step.number}: {Speaker(view).sentence(act)}"
    if step.hint:
        yield f"Hint: {step.hint}"


# -- rings and parts -----------------------------------------------------------------------------


def _of_ring(now: Seen, named: Named) -> Iterator[str]:
    """A ring or part: its size, how many, its promises, where it is placed, what it meets."""
    recipe, role, index = now.view.recipe, named.role, named.index
    called = role if index is None else joined(role, index)
    yield from _sizes(now, called, role, index)
    if now.whole and now.view.weave.layout.known:
        counts = now.view.weave.counts
        used, out = (
            sum(n for (r, i), n in each.items() if r == role and index in (None, i))
            for each in (counts.placed(), counts.taken_out)
        )
        told = plural(used, "part" if role in recipe.part_roles else "ring")
        yield f"{told} used, {out:,} taken out again" if out else f"{told} in the piece"
    for line, words in _promises(now, role):
        yield f"promised on line {line}: {words}"
    yield from _steps(now, role, index)
    if now.whole:
        mets = finished_facts(now.view).get(role, [])
        each = [", ".join(f"{n} {r}" for r, n in sorted(m.items()) if n) for m in mets]
        if any(each) and len(each) <= 3:
            yield f"as written, each one that is finished meets {listed(each, 'or')}"


def _sizes(now: Seen, called: str, role: str, index: int | None) -> Iterator[str]:
    """What a ring or part is: a line for each of its sizes."""
    recipe = now.view.recipe
    parts = [p for p in recipe.parts if p.name.role == role]
    kinds = recipe.kinds_of(role, index or 1)
    for part in parts[:1]:
        yield f"{called}: {part.words}"
    for kind in () if parts else kinds:
        along = f", {kind.along}" if kind.along else ""
        words = Need("", kind, 0, 0).words
        yield f"{called}{along}: {words}" if words else f"{called}{along}"
    if not parts and not kinds:
        yield f"{called}: no line of 'rings:' or 'parts:' describes it"


def _promises(now: Seen, role: str) -> Iterator[tuple[int, str]]:
    """The lines of `expect:` that begin with the name, with their numbers."""
    for line, stands in now.standing.items():
        words = now.line(line).strip()
        first = [n for n in now.names if n.span.line == line][:1]
        begins = first and first[0].role == role and words.startswith(role)
        if stands.section == "expect" and not stands.heads and begins:
            yield line, words


def _steps(now: Seen, role: str, index: int | None) -> Iterator[str]:
    """Where it is placed."""
    steps = [(step, block) for _, (step, block, _) in sorted(now.steps.items())]
    placing = [
        (step, block)
        for step, block in steps
        if step.kind in PLACING and any(r == role and index in (None, i) for r, i in step.placed)
    ]
    naming = {n.span.line for n in now.names if n.role == role}
    done = "placed" if placing else "picked up" if role in now.view.recipe.part_roles else ""
    told = placing or [(s, b) for s, b in steps if s.span.line in naming and done]
    found = [f"step {s.number} (line {s.span.line}, '{b}:')" for s, b in told]
    if len(found) > _MOST_STEPS:
        yield f"{done} in {len(found)} steps, the first of them {found[0]}"
    elif found:
        yield f"{done} in {listed(found)}"
    else:
        yield "no step places it"
