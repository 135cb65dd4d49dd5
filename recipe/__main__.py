"""`python -m recipe` is `ringstep`."""

import sys

from recipe.cli import main

sys.exit(main())
