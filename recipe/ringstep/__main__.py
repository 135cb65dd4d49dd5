"""`python -m ringstep` is `ringstep`."""

import sys

from ringstep.commands.cli import program

sys.exit(program())
