"""Commands killed at random moments leave whole files; `kill.py` does it by the hundred."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path


def test_what_is_killed_leaves_whole_files() -> None:
    script = Path(__file__).with_name("kill.py")
    done = subprocess.run(
        [sys.executable, str(script), "21", "3"], capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr
    assert "none that was not whole" in done.stdout
    assert not done.stdout.startswith("0 killed")
