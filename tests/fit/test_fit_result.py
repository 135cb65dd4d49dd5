"""Results come back exactly, the same each time, and survive being broken off."""

from __future__ import annotations

import subprocess
import sys

import cells
import fitted
import numpy as np
import pytest

from ringstep.space.fit import fit
from ringstep.space.recheck import recheck
from ringstep.space.result import copies, from_json, to_json


@pytest.mark.parametrize("name", ["European 4-in-1", "Persian 6-in-1", "spiral 4-in-1, front"])
def test_json_and_back_exactly(name: str) -> None:
    result = fitted.of(name)
    assert from_json(to_json(result)) == result


@pytest.mark.parametrize("text", ["{}", "[]", "null", '{"cell": 3}', "nonsense"])
def test_other_text_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"not a stored fit|Expecting value"):
        from_json(text)


def test_same_seed_same_fit() -> None:
    cell = cells.european_4()
    assert fit(cell, seed=3, effort=0) == fit(cell, seed=3, effort=0)


def test_progress_only_ever_gets_better() -> None:
    told: list[tuple[str, int, int, float]] = []
    fit(cells.persian_6(), effort=0, progress=lambda *step: told.append(step))
    least = [ratio for stage, _, _, ratio in told if stage == "starts" and ratio > 0]
    assert least == sorted(least, reverse=True)
    assert all(0 <= done < total for _, done, total, _ in told)
    assert {"starts", "measuring"} <= {stage for stage, *_ in told}


def test_breaking_off_keeps_the_best() -> None:
    def stop(stage: str, done: int, total: int, least: float) -> None:
        if least:  # a form is there
            raise KeyboardInterrupt

    result = fit(cells.persian_6(), effort=0, progress=stop)
    assert not result.finished
    assert len(result.forms) == 1
    assert recheck(result.forms[0].tight, result.forms[0].cell).right(1e-5)


def test_breaking_off_at_once_gives_no_form() -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    result = fit(cells.persian_6(), effort=0, progress=stop)
    assert not result.finished
    assert result.forms == ()


def test_second_look_finds_faults() -> None:
    form = fitted.best("Persian 6-in-1")
    good = form.tight
    assert recheck(good, form.cell).right(1e-5)
    far = tuple(
        r if k else type(r)(r.name, r.ring, r.shift, (0.0, 40.0, 0.0), r.normal, 3.0, 1.0)
        for k, r in enumerate(good.rings)
    )
    seen = recheck(type(good)(far, good.repeat, 0.0), form.cell)
    assert len(seen.missing) == sum((k.a == 0) + (k.b == 0) for k in form.cell.links)
    thick = tuple(
        type(r)(r.name, r.ring, r.shift, r.centre, r.normal, r.mean_radius, r.wire * 1.1)
        for r in good.rings
    )
    assert recheck(type(good)(thick, good.repeat, 0.0), form.cell).gap < -0.05


def test_copies_repeat_and_turn() -> None:
    form = fitted.best("spiral 4-in-1, alternating")
    length, twist = form.tight.repeat
    first, second = (copies(form.tight, [(k,)])[0] for k in (0, 1))
    assert second.centre[0] - first.centre[0] == pytest.approx(length)
    y, z = first.centre[1:]
    turned = np.array(
        [np.cos(twist) * y - np.sin(twist) * z, np.sin(twist) * y + np.cos(twist) * z]
    )
    assert second.centre[1:] == pytest.approx(tuple(turned))


def test_package_is_light_until_used() -> None:
    code = (
        "import sys\n"
        "import ringstep.space.cell, ringstep.space.result, ringstep.space.units\n"
        "sys.exit('numpy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
