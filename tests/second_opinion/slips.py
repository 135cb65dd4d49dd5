"""Random slips: one ring left out of one list, with its count lowered to match or not."""

from __future__ import annotations

import random
import re
from dataclasses import dataclass

from second_opinion.carrier import CannotBe, Piece
from second_opinion.reading import read


@dataclass(frozen=True)
class Slip:
    """A recipe with one ring dropped from one list. counted: 'picks' was lowered to match."""

    text: str
    line: int
    before: str
    after: str
    counted: bool


def slip(rng: random.Random, text: str) -> Slip | None:
    """Drop one item, or all but one ring of it, from one list; None where no list has two."""
    lines = text.splitlines()
    piece = Piece(read(text))
    chances = [a.step for a in piece.acts if len(a.step.through) > 0 and len(a.through) > 1]
    if not chances:
        return None
    step = rng.choice(chances)
    line = lines[step.line - 1]
    head, listed, tail = re.fullmatch(
        r"(.* through )(.*?)((?: at one place)?(?: picks \d+)?(?: lay \w+)?(?: skip at edge)?)",
        line,
    ).groups()  # type: ignore[union-attr]
    marks = ["", *re.findall(r", | then ", listed)]
    items = re.split(r", | then ", listed)
    at = rng.randrange(len(items))
    full = next(a for a in piece.acts if a.step is step and len(a.through) > 1)
    item = step.through[at]
    many = [r.index for r in full.through if r.role == item.role]
    if item.number is None and len(set(many)) > 1:
        items[at] = re.sub(rf"\b{item.role}\b", f"{item.role}{min(many)}", items[at])
    elif len(items) > 1:
        del items[at], marks[at]
        marks[0] = ""
    else:
        return None
    counted = rng.random() < 0.5 and " picks " in tail
    new = head + "".join(map("".join, zip(marks, items, strict=True)))
    draft = "\n".join([*lines[: step.line - 1], new + tail, *lines[step.line :]]) + "\n"
    if counted:
        try:
            acts = Piece(read(draft)).acts
        except CannotBe:
            return None
        most = max(len(a.through) for a in acts if a.step.line == step.line)
        tail = re.sub(r"picks \d+", f"picks {most}", tail)
        draft = "\n".join([*lines[: step.line - 1], new + tail, *lines[step.line :]]) + "\n"
    try:
        Piece(read(draft))
    except CannotBe:
        return None
    return Slip(draft, step.line, line.strip(), (new + tail).strip(), counted)
