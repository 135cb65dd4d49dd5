"""The wheel carries grammar and library: built, installed in a new environment, run elsewhere."""

import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run([sys.executable, "-m", "build", "--wheel", "--outdir", folder, ROOT], check=True)
    return next(folder.glob("*.whl"))


def test_wheel_holds_every_shipped_file(wheel):
    names = set(zipfile.ZipFile(wheel).namelist())
    assert "ringstep/_shipped/grammar/weave.lark" in names
    shipped = {f"ringstep/_shipped/library/{p.name}" for p in (ROOT / "library").glob("*.weave")}
    assert shipped
    assert shipped <= names
    starters = (ROOT / "recipe/ringstep/language/starters").glob("*.weave")
    assert {f"ringstep/language/starters/{p.name}" for p in starters} <= names
    assert "ringstep/py.typed" in names
    assert not [n for n in names if n.startswith(("tests/", "examples/"))]


def test_wheel_puts_one_package_beside_others(wheel):
    tops = {n.partition("/")[0] for n in zipfile.ZipFile(wheel).namelist()}
    assert {top for top in tops if not top.endswith(".dist-info")} == {"ringstep"}
    assert len(tops) == 2


def test_wheel_runs_from_another_folder(wheel, tmp_path):
    home = tmp_path / "venv"
    venv.create(home, with_pip=True)
    bin_ = home / ("Scripts" if os.name == "nt" else "bin")
    subprocess.run([bin_ / "python", "-m", "pip", "install", "-q", wheel], check=True)
    away = tmp_path / "elsewhere"
    away.mkdir()
    where = "import sysconfig; print(sysconfig.get_path('purelib'))"
    asked = [bin_ / "python", "-c", where]
    done = subprocess.run(asked, text=True, capture_output=True, check=True)
    for other in ("recipe", "language", "weave", "checks", "paper", "commands"):
        # Somebody else's packages: were one of them imported for ours, nothing would run.
        package = Path(done.stdout.strip()) / other
        package.mkdir()
        (package / "__init__.py").write_text("raise RuntimeError('of another project')\n")
    env = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    env["RINGSTEP_CACHE"] = str(tmp_path / "cache")

    def run(*words):
        return subprocess.run(
            [bin_ / "ringstep", *words], cwd=away, env=env, text=True, capture_output=True
        )

    listed = run("weaves")
    assert listed.returncode == 0, listed.stderr
    for path in (ROOT / "library").glob("*.weave"):
        assert path.stem in listed.stdout
    assert run("weaves", "--copy", "persian_6").returncode == 0
    for _ in range(2):  # without and with the parser's cache
        done = run("check", "persian_6.weave")
        assert (done.returncode, done.stderr) == (0, "")
        assert "checks clean" in done.stdout
    assert run("--version").stdout.startswith("ringstep ")
    script = "import ringstep; print(ringstep.read('persian_6.weave').findings)"
    door = subprocess.run(
        [bin_ / "python", "-c", script], cwd=away, env=env, text=True, capture_output=True
    )
    assert (door.stdout, door.stderr) == ("()\n", "")
    drawn = run("draw", "persian_6.weave", "--format", "svg", "--format", "png")
    assert drawn.returncode == 0, drawn.stderr
    assert len(list((away / "persian_6-pictures").glob("*.svg"))) > 5
