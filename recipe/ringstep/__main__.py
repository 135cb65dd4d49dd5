"""`python -m ringstep` is `ringstep`."""

import sys

from ringstep.commands.cli import main

sys.exit(main())
