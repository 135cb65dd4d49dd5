"""Serve an editor that speaks the Language Server Protocol, on stdin and stdout.

Editors start it themselves: findings with their mends, what a word or ring means, what may be
typed, new names, steps and sections. It needs the extra 'editor' and reads no file.
"""

from __future__ import annotations

import argparse
import sys

from ringstep.commands.rim import OK, Stop, ready_to_compute


def arguments(parser: argparse.ArgumentParser) -> None:
    """Nothing is typed after `ringstep editor`: editors say the rest on stdin."""


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    ready_to_compute()  # it runs on
    try:
        import pygls  # noqa: F401
    except ImportError:
        raise Stop("editors are served by pygls: pip install 'ringstep[editor]'") from None
    from ringstep.table.editor_server import EditorServer

    if sys.stdin is None or sys.stdin.isatty():
        raise Stop("an editor starts this itself; tell yours to run 'ringstep editor' for .weave")
    server = EditorServer((sys.executable, "-m", "ringstep.commands.table_worker"))
    with open(sys.stdout.fileno(), "wb", closefd=False) as answered:  # pygls closes what it gets
        server.serve(sys.stdin.buffer, answered)
    return OK
