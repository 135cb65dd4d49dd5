"""Print a completion script for your shell.

Commands, options, recipes, rules, words and weaves are offered.

bash, in ~/.bashrc:
  eval "$(ringstep completion bash)"
zsh, in ~/.zshrc behind compinit:
  eval "$(ringstep completion zsh)"
fish, in ~/.config/fish/config.fish:
  ringstep completion fish | source
tcsh, in ~/.tcshrc:
  ringstep completion tcsh > ~/.ringstep.tcsh
  source ~/.ringstep.tcsh
"""

from __future__ import annotations

import argparse
import sys

from ringstep.commands.rim import OK

SHELLS = ("bash", "zsh", "fish", "tcsh")


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep completion`."""
    parser.add_argument("shell", choices=SHELLS, metavar="|".join(SHELLS))


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    import shtab

    from ringstep.commands.cli import parser

    top = parser()
    commands = next(a for a in top._actions if isinstance(a, argparse._SubParsersAction))
    for command, one in commands.choices.items():
        one.description = (one.description or "").splitlines()[0]  # a menu has room for one line
        for action in one._actions:
            _tell_kind(action, command)
    sys.stdout.write(f"{shtab.complete(top, args.shell)}\n")
    return OK


def _tell_kind(action: argparse.Action, command: str) -> None:
    """Write down beside an option or a place what may be typed there, as its metavar tells."""
    import shtab

    from ringstep.commands.explain import explained
    from ringstep.language.shipped import shipped_weaves

    named = action.metavar if isinstance(action.metavar, str) else ""
    kind: object = None
    if named == "RULE":
        action.choices = explained()
    elif named == "NAME" and command == "weaves":
        action.choices = list(shipped_weaves())
    elif named == "FOLDER":
        kind = shtab.DIRECTORY
    elif named.startswith("FILE"):
        ending = named.removeprefix("FILE") or ("" if action.option_strings else ".weave")
        # Two patterns: zsh takes brackets round a single one for something else.
        kind = shtab.glob(f"*{ending}", f"*{ending.upper()}") if ending else shtab.FILE
    if kind is not None:
        action.complete = kind  # type: ignore[attr-defined]
