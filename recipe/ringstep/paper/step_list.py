"""The step list as plain text, as Markdown and on a terminal."""

from __future__ import annotations

import re

from ringstep.language.screen import safe
from ringstep.language.words import plural
from ringstep.paper.sentences import sentence
from ringstep.paper.steps_text import Section, StepList, StepText
from ringstep.paper.table_text import wrapped


def piece_line(listing: StepList) -> str:
    """What the piece is, and in which variant it is worked."""
    variant = f", variant '{listing.variant}'" if listing.variant else ""
    return f"{sentence(listing.piece).removesuffix('.')}{variant}."


def need_lines(listing: StepList) -> list[str]:
    """The things to lay ready, a line each."""
    lines = []
    for need in listing.needs:
        if need.count:
            ready = [
                f"{need.opened:,} opened" if need.opened else "",
                f"{need.closed:,} closed" if need.closed else "",
            ]
            how = " and ".join(r for r in ready if r)
            lines.append(
                f"{plural(need.count, 'ring')} for {need.name}: {need.words} ({how} beforehand)"
            )
        else:
            lines.append(f"rings for {need.name}: {need.words}")
    lines += listing.parts
    lines.append("two pairs of flat-jawed pliers, good light, a tray")
    return lines


def step_lines(step: StepText) -> list[tuple[str, str]]:
    """What stands under a step: (label, text)."""
    lines = []
    if step.hint:
        lines.append(("Hint", step.hint))
    if step.see:
        lines.append(("See", f"{step.see}."))
    if step.used:
        lines.append(("Count", f"{step.used}."))
    return lines


def _plain_section(section: Section) -> list[str]:
    lines = [section.heading.upper(), ""]
    if section.intro:
        lines += [wrapped(section.intro), ""]
    for step in section.steps:
        head = f"{step.number:>3}. "
        lines.append(wrapped(step.sentence, head, "     "))
        for label, text in step_lines(step):
            lines.append(wrapped(text, f"     {label}: ", "       "))
        lines.append("")
    return lines


def as_plain(listing: StepList) -> str:
    """The whole list as plain text of 88 columns."""
    title = safe(listing.title)
    lines = [title, "=" * len(title), ""]
    lines += [safe(piece_line(listing)), ""]
    lines += [wrapped(note) for note in listing.notes]
    lines += ["", "YOU NEED", ""] if listing.notes else ["YOU NEED", ""]
    lines += [wrapped(x, "  - ", "    ") for x in need_lines(listing)]
    lines += ["", "BEFORE YOU BEGIN", ""]
    lines += [wrapped(x, "  - ", "    ") for x in listing.cautions]
    lines.append("")
    for section in listing.sections:
        lines += _plain_section(section)
    if listing.finished:
        lines += ["WHEN IT IS DONE", ""]
        lines += [wrapped(sentence(x), "  - ", "    ") for x in listing.finished]
    return "\n".join(lines).rstrip() + "\n"


_MARKS = re.compile(r"([\\`*_{}\[\]<>#|~])")


def _md(text: str) -> str:
    """A text with Markdown's marks taken literally."""
    return _MARKS.sub(r"\\\1", safe(text)).replace("&", "&amp;")


def as_markdown(listing: StepList) -> str:
    """The whole list as Markdown; step numbers are kept as they are in the recipe."""
    lines = [f"# {_md(listing.title)}", "", _md(piece_line(listing)), ""]
    for note in listing.notes:
        lines += [_md(note), ""]
    lines += ["## You need", "", *(f"- {_md(x)}" for x in need_lines(listing)), ""]
    lines += ["## Before you begin", "", *(f"- {_md(x)}" for x in listing.cautions), ""]
    for section in listing.sections:
        lines += [f"## {_md(section.heading)}", ""]
        if section.intro:
            lines += [_md(section.intro), ""]
        for step in section.steps:
            lines.append(f"{step.number}. {_md(step.sentence)}")
            lines += [f"    - {label}: {_md(text)}" for label, text in step_lines(step)]
        lines.append("")
    if listing.finished:
        lines += ["## When it is done", ""]
        lines += [f"- {_md(sentence(x))}" for x in listing.finished]
    return "\n".join(lines).rstrip() + "\n"


def show_rich(listing: StepList) -> None:
    """The list on a terminal."""
    from rich.console import Console
    from rich.padding import Padding
    from rich.text import Text

    console = Console(highlight=False)
    console.print(Text(safe(listing.title), style="bold underline"))
    console.print(Text(safe(piece_line(listing))))
    for note in listing.notes:
        console.print(Text(safe(note)))

    def bullets(heading: str, items: list[str] | tuple[str, ...]) -> None:
        console.print()
        console.print(Text(heading, style="bold"))
        for item in items:
            console.print(Padding(Text(f"• {safe(item)}"), (0, 0, 0, 2)))

    bullets("You need", need_lines(listing))
    bullets("Before you begin", listing.cautions)
    for section in listing.sections:
        console.print()
        console.print(Text(section.heading, style="bold"))
        if section.intro:
            console.print(Text(section.intro, style="italic"))
        for step in section.steps:
            console.print()
            console.print(Text.assemble((f"{step.number:>3}. ", "bold"), safe(step.sentence)))
            for label, text in step_lines(step):
                line = Text.assemble((f"{label}: ", "dim bold"), (safe(text), "dim"))
                console.print(Padding(line, (0, 0, 0, 5)))
    if listing.finished:
        bullets("When it is done", [sentence(x) for x in listing.finished])
