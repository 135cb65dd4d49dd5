"""Print set-up command 1 or 2 of the README: the lines of its first two `sh` blocks."""

import re
import sys
from pathlib import Path

text = Path("README.md").read_text(encoding="utf-8")
blocks = re.findall(r"^```sh\n(.*?)^```", text, re.M | re.S)
print(blocks[int(sys.argv[1]) - 1].strip())
