"""Keep samples you measured, a line each, beside the recipe: lengths go by the newest of its rings.

'ringstep sample add FILE --units 10 --measured "41 mm"' adds one, dated today; 'ringstep sample
FILE' lists those of a recipe, 'ringstep sample' those of every recipe in this folder. They stand in
a text file, 'byzantine.samples', that you may edit by hand.
"""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ringstep.commands.rim import (
    CANNOT,
    OK,
    Stop,
    data_forms,
    must_be_clean,
    put,
    put_data,
    say,
    size_option,
    tell,
)
from ringstep.language.source import Refused

if TYPE_CHECKING:
    from ringstep.checks.view import View
    from ringstep.shop.sample_log import Entry

_ADDED = ("units", "measured", "state", "rings", "note", "date", "size", "variant")


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep sample`."""
    from ringstep.shop.sample_log import STATES

    parser.add_argument(
        "words", nargs="*", metavar="FILE", help="'add' and a recipe, or a recipe to list"
    )
    parser.add_argument("--units", metavar="N", help="how many units were measured: 10, '10 byz'")
    parser.add_argument("--measured", metavar="SIZE", help="what they came to: '41 mm', '1 5/8 in'")
    parser.add_argument(
        "--state",
        choices=tuple(STATES),
        help="how the piece lay: flat, without pulling (so where nothing is said); hanging by an"
        " end; pulled straight; pushed together",
    )
    parser.add_argument(
        "--rings",
        metavar="RINGS",
        help="other rings than the recipe's: 'wire 1.2 mm, inside 5 mm, copper'; of several kinds"
        " 'A wire …; B wire …'",
    )
    size_option(parser)
    parser.add_argument("--variant", metavar="NAME", help="the variant that was worked")
    parser.add_argument("--note", metavar="WORDS", help="what you want to remember")
    parser.add_argument("--date", metavar="DAY", help="the day it was measured: 2026-11-26")
    data_forms(parser, "the samples", "the samples")


#: So much longer than computed, pulled straight, no chain hangs: rings give, wire and callipers
#: are off by a few percent (common practice, no source).
_FAR = 1.15


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    if args.words[:1] == ["add"]:
        if len(args.words) != 2:
            raise Stop("name one recipe: ringstep sample add FILE --units 10 --measured '41 mm'")
        return _add(args, args.words[1])
    if given := [name for name in _ADDED if getattr(args, name)]:
        raise Stop(f"--{given[0]} is for a new sample: ringstep sample add FILE --{given[0]} …")
    return _list(args)


def _add(args: argparse.Namespace, file: str) -> int:
    """Add one sample. Raises `Stop` or `Refused`."""
    from ringstep.commands.sample_store import add_sample, log_of, read_samples
    from ringstep.language.screen import safe
    from ringstep.paper.sample_words import held_words
    from ringstep.shop.sample_log import in_use, must_be_likely, why_not

    if file == "-":
        raise Stop("samples are kept beside a recipe; name its file instead of '-'")
    if not args.units or not args.measured:
        lacking = "--units 10" if not args.units else "--measured '41 mm'"
        raise Stop(f"say what was measured, as in {lacking}")
    seen = must_be_clean(file, args.variant, args.size, own_samples=False)
    entry = _entry(args, seen)
    must_be_likely(seen, entry)
    path = log_of(file)
    add_sample(path, entry)
    each = f"{entry.mm / entry.units:.2f} mm a unit"
    say(safe(f"wrote {path}: {entry.measured}, {entry.state}, {each}"))
    if ends := _ends(seen):
        say(f"that is for units alone: measured with {ends}, it would make every length too short")
    why = why_not(seen, entry)
    used = {e.text for e in in_use(seen, read_samples(path).entries)}
    if not why and not args.variant and (held := _computed(seen, entry)):
        say(held_words(entry.state, entry.mm / entry.units, held))
        if entry.mm / entry.units > _FAR * held[1]:
            say(
                "rings of these sizes do not hang so long: count the units again, and measure them"
                f" without what begins and ends the piece; to take it back, take the line out of"
                f" {safe(str(path))}"
            )
    why = why or ("" if entry.text in used else "there is a newer one")
    say(safe(f"lengths of {file} {f'do not go by it: {why}' if why else 'go by it'}"))
    return OK


def _entry(args: argparse.Namespace, seen: View) -> Entry:
    """The sample that was typed. Raises `Stop` or `Refused`."""
    from datetime import date, timedelta

    from ringstep.language.screen import safe
    from ringstep.shop import sample_log as log

    units, label = log.read_units(args.units)
    day = log.read_day(args.date.strip()) if args.date else date.today().isoformat()
    if date.fromisoformat(day) > date.today() + timedelta(days=1):  # where it is tomorrow already
        raise Stop(f"--date: {day} is yet to come")
    log.must_be_measured(seen, label)
    note = safe(" ".join((args.note or "").split()))
    if len(note) > log.MOST_NOTE:
        raise Stop(f"--note has {len(note)} letters; at most {log.MOST_NOTE} go into a line")
    return log.Entry(
        day, units, label, *log.read_length(args.measured),
        log.STATES[args.state or "flat"],
        log.read_rings(args.rings) if args.rings else log.own_rings(seen, label),
        log.weave_names(seen, label)[0], note,
    )  # fmt: skip


def _ends(seen: View) -> str:
    """The rings of the start and the finish, which are no part of any unit."""
    from ringstep.language.words import listed, plural
    from ringstep.shop.kit_length import rings_of_ends

    return listed([f"the {plural(n, 'ring')} of the {kind}" for kind, n in rings_of_ends(seen)])


def _computed(seen: View, entry: Entry) -> tuple[float, float] | None:
    """What 'ringstep fit' kept of the length of a unit, where units are all alike."""
    from ringstep.commands.fit_store import fitted_length

    return None if entry.label else fitted_length(seen)


def _list(args: argparse.Namespace) -> int:
    """List the samples of the recipes named, or of all in this folder; what cannot be read is told
    of, and the others are listed."""
    from ringstep.commands.sample_store import ENDING, log_of
    from ringstep.language.screen import safe
    from ringstep.paper.sample_words import CSV_HEADS, samples_page

    logs = [(log_of(word), word) for word in args.words]
    for path, word in logs:
        if not path.exists():
            what = (
                f"no samples of {word} yet" if os.path.exists(word) else f"there is no file {word}"
            )
            raise Stop(f"{what}; 'ringstep sample add {word} --units 10 --measured …' keeps one")
    if not logs:
        found = sorted(p for p in Path().iterdir() if p.name.endswith(ENDING) and p.is_file())
        logs = [(p, str(p.with_suffix(".weave"))) for p in found]
    rows, status = [], OK
    for path, recipe in logs:
        try:
            rows += _rows(path, recipe)
        except Stop as fault:
            tell(fault)
            status = CANNOT
    if put_data(args, rows, CSV_HEADS, rows):
        return status
    if rows:
        put(samples_page([safe(str(path)) for path, _ in logs], rows))
    elif status == OK:
        say("no samples here yet; 'ringstep sample add FILE --units 10 --measured …' keeps one")
    return status


def _rows(path: Path, recipe: str) -> list[dict[str, Any]]:
    """The samples of one recipe as plain data, the newest first, with what each is used for.
    Raises `Stop` where they cannot be read."""
    from ringstep.commands.sample_store import read_samples
    from ringstep.paper.sample_words import sample_rows

    entries = read_samples(path).entries
    seen: View | None = None
    try:
        seen = must_be_clean(recipe, own_samples=False)
    except Refused as fault:
        tell(fault)
    return sample_rows(str(path), entries, seen)
