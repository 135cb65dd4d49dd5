"""The command line: the rim where files are read and written, and where every mishap gets words.

Nothing is imported that the command at hand does not use.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import argparse

    from recipe.faults import Model
    from recipe.report import FileReport, Line
    from recipe.source import Source
    from recipe.view import View

OK, ERRORS, CANNOT = 0, 1, 2


class Stop(Exception):
    """A command that cannot go on; its text says why and what to do."""


def read(path: str) -> Source:
    """Read one recipe; '-' is what is typed or piped in. Raises `Stop`."""
    from recipe.source import MOST_BYTES, Unreadable, source_from_bytes

    try:
        if path == "-":
            return source_from_bytes(sys.stdin.buffer.read(MOST_BYTES + 1), "standard input")
        if os.path.isdir(path):
            raise Stop(f"{path} is a folder; name the recipe in it")
        size = os.path.getsize(path)
        with open(path, "rb") as file:
            data = file.read(MOST_BYTES + 1)
        if size > MOST_BYTES:
            raise Stop(f"{path} holds {size:,} bytes; a recipe has at most {MOST_BYTES:,}")
        return source_from_bytes(data, path)
    except FileNotFoundError:
        from recipe.library import shipped_weaves

        hint = ""
        if path.removesuffix(".weave") in shipped_weaves():
            name = path.removesuffix(".weave")
            hint = f"; 'ringstep weaves --copy {name}' puts the shipped one here"
        raise Stop(f"there is no file {path}{hint}") from None
    except OSError as fault:
        raise Stop(f"{path} cannot be read: {fault.strerror or fault}") from None
    except Unreadable as fault:
        raise Stop(str(fault)) from None


def view(path: str) -> View:
    """Read one recipe and make ready to look at it. Raises `Stop`."""
    from recipe.pipeline import view_of

    return view_of(read(path))


def write_aside(path: Path, data: bytes) -> None:
    """Write a file whole or not at all: beside its place first, then renamed. Raises `Stop`."""
    aside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        aside.write_bytes(data)
        os.replace(aside, path)
    except OSError as fault:
        aside.unlink(missing_ok=True)
        raise Stop(f"{path} cannot be written: {fault.strerror or fault}") from None


def show(lines: list[Line], to_terminal: bool | None = None) -> None:
    """Print report lines, painted on a terminal and plain elsewhere."""
    from recipe.report import paint, plain

    if sys.stdout.isatty() if to_terminal is None else to_terminal:
        paint(lines)
    else:
        sys.stdout.write(plain(lines))


def must_be_clean(path: str) -> View:
    """The view of a recipe without errors. Raises `Stop` after showing the errors there are."""
    from recipe.pipeline import findings_of, has_errors
    from recipe.report import FileReport, file_lines, plain

    seen = view(path)
    findings = findings_of(seen)
    if has_errors(findings):
        errors = tuple(f for f in findings if f.severity == "error")
        sys.stderr.write(plain(file_lines(FileReport(seen.recipe.source, errors))))
        raise Stop(f"{path} has errors, so nothing is made from it; mend them first")
    return seen


# -- commands ------------------------------------------------------------------------------------


def _report(path: str) -> FileReport:
    from recipe.pipeline import findings_of, has_errors
    from recipe.report import FileReport
    from recipe.summary import summary_lines

    seen = view(path)
    findings = findings_of(seen)
    summary = () if has_errors(findings) else summary_lines(seen)
    return FileReport(seen.recipe.source, findings, summary)


def check(args: argparse.Namespace) -> int:
    """Check recipes and say what is wrong, where, and what to type."""
    from recipe.findings import Finding, Rule
    from recipe.report import FileReport, as_json, file_lines
    from recipe.source import Source, Span

    reports, status = [], OK
    for path in args.files:
        try:
            report = _report(path)
            status = max(status, OK if report.ok else ERRORS)
        except Stop as fault:
            status = CANNOT
            if not args.json:
                sys.stderr.write(f"ringstep: {fault}\n")
                continue
            finding = Finding(Rule("unreadable-file", "error"), Span(1, 1, 1), str(fault))
            report = FileReport(Source(path, ("",), ("",)), (finding,))
        reports.append(report)
        if not args.json:
            show(file_lines(report))
    if args.json:
        import json

        sys.stdout.write(json.dumps(as_json(reports), ensure_ascii=False, indent=1) + "\n")
    return status


def steps(args: argparse.Namespace) -> int:
    """Print the numbered step list a student follows."""
    from recipe.outputs.step_list import as_markdown, as_plain, show_rich
    from recipe.outputs.steps_text import NoVariant, step_list

    seen = must_be_clean(args.file)
    try:
        listing = step_list(seen, args.variant)
    except NoVariant as fault:
        raise Stop(str(fault)) from None
    if args.markdown:
        sys.stdout.write(as_markdown(listing))
    elif args.plain or not sys.stdout.isatty():
        sys.stdout.write(as_plain(listing))
    else:
        show_rich(listing)
    return OK


def draw(args: argparse.Namespace) -> int:
    """Draw the diagrams: after each step, the window, the unit with its links."""
    from recipe.outputs.diagrams import all_diagrams
    from recipe.outputs.drawing import NoProgram, dot_texts, draw_all

    seen = must_be_clean(args.file)
    stem = Path(args.file).stem if args.file != "-" else "recipe"
    folder = Path(args.to or f"{stem}-pictures")
    diagrams = all_diagrams(seen, args.variant)
    formats = list(dict.fromkeys(args.format or ["svg"]))
    pictures: dict[str, bytes] = {}
    trouble = ""
    if "dot" in formats:
        pictures |= dot_texts(diagrams)
    try:
        for form in formats:
            if form != "dot":
                pictures |= draw_all(diagrams, form)
    except NoProgram as fault:
        trouble = str(fault)
        pictures |= dot_texts(diagrams)
    for name, data in pictures.items():
        write_aside(folder / name, data)
    sys.stdout.write(f"{len(pictures)} pictures in {folder}:\n")
    for diagram in diagrams:
        sys.stdout.write(f"  {diagram.name}  {diagram.title}\n")
    if trouble:
        raise Stop(trouble)
    return OK


def explain(args: argparse.Namespace) -> int:
    """Explain a rule, with a wrong and a right recipe."""
    from recipe.checks import all_checks
    from recipe.words import nearest

    checks = {c.RULE.name: c for c in all_checks()}
    if not args.rule:
        width = max(map(len, checks))
        for name, one in sorted(checks.items()):
            first = (one.__doc__ or "").strip().splitlines()[0]
            sys.stdout.write(f"{name:<{width}}  {one.RULE.severity:<7}  {first}\n")
        return OK
    if args.rule not in checks:
        near = nearest(args.rule, list(checks))
        raise Stop(
            f"there is no rule '{args.rule}'"
            + (f"; the nearest is '{near}'" if near else "; 'ringstep explain' lists them all")
        )
    one = checks[args.rule]
    sys.stdout.write(f"{args.rule} ({one.RULE.severity})\n\n{(one.__doc__ or '').strip()}\n")
    return OK


def weaves(args: argparse.Namespace) -> int:
    """List, show or copy out the shipped recipes."""
    from recipe.library import shipped_weaves
    from recipe.words import nearest

    shipped = shipped_weaves()
    wanted = args.copy or args.show
    if wanted is None:
        from recipe.pipeline import view_of
        from recipe.source import source_from_bytes

        width = max(map(len, shipped), default=0)
        for name, path in shipped.items():
            seen = view_of(source_from_bytes(path.read_bytes(), name))
            about = next((n.text for n in seen.recipe.notes if n.topic == "about"), "")
            sys.stdout.write(f"{name:<{width}}  {seen.recipe.title or ''}: {about}\n")
        return OK
    name = wanted.removesuffix(".weave")
    if name not in shipped:
        near = nearest(name, list(shipped))
        raise Stop(
            f"no recipe '{wanted}' is shipped"
            + (f"; the nearest is '{near}'" if near else "; 'ringstep weaves' lists them")
        )
    data = shipped[name].read_bytes()
    if args.show:
        sys.stdout.write(data.decode("utf-8"))
        return OK
    target = Path(args.to or f"{name}.weave")
    if target.is_dir():
        target = target / f"{name}.weave"
    if target.exists():
        raise Stop(f"{target} is there already and is left as it is; name another with --to")
    write_aside(target, data)
    sys.stdout.write(f"wrote {target}; now try: ringstep check {target}\n")
    return OK


def alike(args: argparse.Namespace) -> int:
    """Tell whether two recipes have the same links and lay, or which shipped weaves share them."""
    from recipe.alike import compare, likeness_words
    from recipe.library import shipped_weaves
    from recipe.pipeline import view_of
    from recipe.report import safe
    from recipe.source import source_from_bytes

    first = must_be_clean(args.file)

    def named(title: str, model: Model) -> str:
        return f"{safe(title)}, {safe(model.variant.name)}" if model.variant else safe(title)

    if args.other:
        second = must_be_clean(args.other)
        same = False
        for one in first.models:
            for two in second.models:
                found = compare(one, two)
                same = same or found.links
                sys.stdout.write(
                    f"{named(args.file, one)} and {named(args.other, two)}:"
                    f" {likeness_words(found)}\n"
                )
        return OK if same else ERRORS
    lines = []
    for name, path in shipped_weaves().items():
        other = view_of(source_from_bytes(path.read_bytes(), name))
        for one in first.models:
            for two in other.models:
                found = compare(one, two)
                if found.links:
                    lines.append(f"  {named(name, two)}: {likeness_words(found)}")
                    if len(first.models) > 1:
                        lines[-1] = f"  {named(args.file, one)} and{lines[-1][1:]}"
    sys.stdout.write(
        f"{safe(args.file)} has the same links as\n"
        if lines
        else f"{safe(args.file)}: no shipped weave has the same links\n"
    )
    sys.stdout.write("".join(f"{line}\n" for line in lines))
    return OK


# -- the parser of the command line ------------------------------------------------------------


def _parser() -> argparse.ArgumentParser:
    import argparse

    top = argparse.ArgumentParser(
        prog="ringstep",
        description="Check ring weaves written step by step, print their step"
        " lists and draw their diagrams.",
        epilog="Exit: 0 clean, 1 errors found, 2 could not run.",
    )
    commands = top.add_subparsers(dest="command", metavar="COMMAND", required=True)

    def command(name: str, run: Callable[[argparse.Namespace], int]) -> argparse.ArgumentParser:
        words = (run.__doc__ or "").strip()
        one = commands.add_parser(name, help=words.rstrip("."), description=words)
        one.set_defaults(run=run)
        return one

    one = command("check", check)
    one.add_argument(
        "files", nargs="+", metavar="FILE", help="recipes, or '-' for what is piped in"
    )
    one.add_argument("--json", action="store_true", help="write the findings as JSON")
    one = command("steps", steps)
    one.add_argument("file", metavar="FILE")
    one.add_argument("--markdown", action="store_true", help="as Markdown")
    one.add_argument("--plain", action="store_true", help="as plain text, also on a terminal")
    one.add_argument("--variant", metavar="NAME", help="the variant to print")
    one = command("draw", draw)
    one.add_argument("file", metavar="FILE")
    one.add_argument(
        "--format",
        action="append",
        choices=["svg", "png", "dot"],
        help="svg (the default), png or dot; may be given more than once",
    )
    one.add_argument("--to", metavar="FOLDER", help="where the pictures go")
    one.add_argument("--variant", metavar="NAME", help="the variant to draw")
    one = command("alike", alike)
    one.add_argument("file", metavar="FILE")
    one.add_argument("other", metavar="FILE", nargs="?", help="leave out for the shipped weaves")
    one = command("explain", explain)
    one.add_argument("rule", metavar="RULE", nargs="?", help="as printed in brackets by check")
    one = command("weaves", weaves)
    group = one.add_mutually_exclusive_group()
    group.add_argument("--show", metavar="NAME", help="print a recipe")
    group.add_argument("--copy", metavar="NAME", help="copy a recipe out, to make it your own")
    one.add_argument("--to", metavar="FILE", help="with --copy: where to")
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; no mishap ends in a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    args = _parser().parse_args(argv)
    try:
        status: int = args.run(args)
        sys.stdout.flush()
        return status
    except Stop as fault:
        sys.stderr.write(f"ringstep: {fault}\n")
        return CANNOT
    except BrokenPipeError:
        # The reader went away (`| head`); point stdout elsewhere so that Python can end quietly.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return CANNOT
    except KeyboardInterrupt:
        sys.stderr.write("\nringstep: stopped\n")
        return CANNOT
    except OSError as fault:
        sys.stderr.write(f"ringstep: {fault.strerror or fault}\n")
        return CANNOT


if __name__ == "__main__":
    sys.exit(main())
