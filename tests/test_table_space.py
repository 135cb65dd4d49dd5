"""The rings to be turned by hand: what the page is sent of them, and from where they are seen.

The rings are made up, on whole numbers, so that middles and distances are known.
"""

from __future__ import annotations

import json
from typing import Any

from nicegui import ui
from page_alone import Tab, alone

from ringstep.table.ring_data import RingAt, RingData, Step
from ringstep.table.ring_space import RingSpace, Torus

#: Right is y of the rings, up is z, towards the eye is x.
TURN = ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))


def ring(mark: str, x: float, y: float, z: float, radius: float = 3, wire: float = 1) -> RingAt:
    return RingAt(mark, (x, y, z), (0.0, 0.0, 1.0), radius, wire)


FIRST = Step(
    1, 3, 3, "start", "", "", "one ring", rings=(ring("a", 0, 0, 0), ring("b", 2, 4, 6)),
    new=("a",), through=("b",), names=(("a", "A1"), ("x", "X")),
)  # fmt: skip
THIRD = Step(
    2, 4, 4, "start", "", "", "a fold",
    rings=(ring("a", 0, 0, 0), ring("c", 1, 2, 3), ring("b", 2, 4, 6)), moved=(("c", "fold"),),
)  # fmt: skip


def space(*steps: Step) -> tuple[Tab, RingSpace, RingData]:
    """The rings of the first of some steps, in a browser that is there."""
    tab, data = Tab(), RingData(steps, True, turn=TURN)
    with tab.client:
        made = RingSpace(data, steps[0], lambda _: None)
    (scene,) = tab.all(ui.scene)
    scene._initialized_event.set()
    return tab, made, data


def torus(tab: Tab) -> Torus:
    """The rings as an object of the scene."""
    (scene,) = tab.all(ui.scene)
    (found,) = [one for one in scene.objects.values() if isinstance(one, Torus)]
    return found


def calls(tab: Tab) -> list[list[Any]]:
    """What was asked of the scene, each with its name."""
    found = [s.removeprefix("return runMethod(").removesuffix(")") for s in tab.scripts]
    parts = [json.loads(f"[{one}]") for one in found if one[0].isdigit()]
    return [[name, *args] for _, name, args in parts]


@alone
async def test_what_is_sent_of_each_ring() -> None:
    """New or moved 2, gone through 1, else 0; its name; place, axis, radius, wire, and a body."""
    bar = RingAt(
        "p", (1.0, 2.0, 3.0), (0.0, 1.0, 0.0), 0.5, 2.5, (1.0, 0.0, 0.0, 9.0, 0.0, 0.0, 4.0)
    )
    step = Step(1, 3, 3, "", "", rings=(*THIRD.rings, bar), new=("a",), through=("b", "c"),
                moved=(("c", "fold"),), names=(("b", "B"),))  # fmt: skip
    tab, *_ = space(step)
    assert torus(tab).args == [[
        ["a", 2, "", 0, 0, 0, 0, 0, 1, 3, 1],
        ["c", 2, "", 1, 2, 3, 0, 0, 1, 3, 1],
        ["b", 1, "B", 2, 4, 6, 0, 0, 1, 3, 1],
        ["p", 0, "", 1, 2, 3, 0, 1, 0, 0.5, 2.5, 1, 0, 0, 9, 0, 0, 4],
    ]]  # fmt: skip


@alone
async def test_what_the_step_is_about_stands_in_the_middle_as_it_is_looked_at() -> None:
    tab, made, data = space(FIRST, THIRD)
    shown = torus(tab)
    assert shown.R == [[0, 1, 0], [0, 0, 1], [1, 0, 0]]
    # a and b have their middle at 1, 2, 3; the eye sees y, z, x
    assert (shown.x, shown.y, shown.z) == (-2, -3, -1)
    (scene,) = tab.all(ui.scene)
    assert scene.props["aria-label"].startswith("one ring; drag")
    with tab.client:
        made.show(data, Step(3, 5, 5, "", "", words="b goes", rings=THIRD.rings, through=("b",)))
    assert (shown.x, shown.y, shown.z) == (-4, -6, -2)
    assert scene.props["aria-label"].startswith("b goes; drag")
    with tab.client:
        made.show(data, Step(3, 5, 5, "", "", rings=(*THIRD.rings, ring("d", 1, 2, 7))))
    # about none of them, so about all: 4/4, 8/4, 16/4
    assert (shown.x, shown.y, shown.z) == (-2, -4, -1)
    with tab.client:
        made.show(data, THIRD)
    assert (shown.x, shown.y, shown.z) == (-2, -3, -1), "c alone is moved"


@alone
async def test_only_what_changes_is_sent() -> None:
    tab, made, data = space(FIRST, THIRD)
    tab.scripts.clear()
    with tab.client:
        made.show(data, THIRD)
    of = [one for one in calls(tab) if "change" in one]
    assert len(of) == 1
    changed, gone = of[0][-2:]
    # a is new no more and b is gone through no more; c comes
    assert [(r[0], r[1]) for r in changed] == [("a", 0), ("c", 2), ("b", 0)]
    assert gone == []
    tab.scripts.clear()
    last = Step(3, 5, 5, "", "", rings=(THIRD.rings[0], ring("b", 2, 4, 7)), through=("b",))
    with tab.client:
        made.show(data, last)
    (sent,) = [one for one in calls(tab) if "change" in one]
    assert sent[-2:] == [[["b", 1, "", 2, 4, 7, 0, 0, 1, 3, 1]], ["c"]], "a lies as it did"
    assert [r[0] for r in torus(tab).args[0]] == ["a", "b"]


def camera(*steps: Step) -> dict[str, Any]:
    tab, *_ = space(*steps)
    (scene,) = tab.all(ui.scene)
    assert 30 < scene.props["fps"] <= 60, "smooth, and no more than screens show"
    assert scene.props["grid"] is False
    assert scene.props["click-events"] == ["click"]
    found = scene.camera
    place = (found.x, found.y, found.z, found.up_x, found.up_y, found.up_z)
    return {**found.params, "place": place}


@alone
async def test_as_much_is_seen_as_every_step_is_about_and_some_around_it() -> None:
    """A ring is 7 mm across, so a lone one is seen in a square of 14; two of which each lies 5 from
    their middle in one of 24; and never more than eight rings, 56."""
    lone = Step(1, 3, 3, "", "", rings=(ring("a", 9, 9, 9),))
    pair = Step(2, 4, 4, "", "", rings=(ring("a", 0, 0, 0), ring("b", 6, 8, 0)))
    far = Step(3, 5, 5, "", "", rings=(ring("a", 0, 0, 0), ring("b", 60, 80, 0)))
    alone_in_it = Step(4, 5, 5, "", "", rings=far.rings, new=("b",))
    for steps, across in (
        ((lone,), 14), ((lone, pair), 24), ((pair, lone), 24), ((lone, far), 56),
        ((lone, alone_in_it), 14),
    ):  # fmt: skip
        seen = camera(*steps)
        assert seen["size"] == across
        # it looks down on the middle from ten times as far, and sees as far behind it
        assert seen["place"] == (0, 0, 10 * across, 0, 1, 0)
        assert 0 < seen["near"] < 1
        assert seen["far"] == 20 * across
    large = Step(1, 3, 3, "", "", rings=(ring("a", 0, 0, 0), ring("b", 0, 0, 0, 6, 2)))
    assert camera(large)["size"] == 28, "of the largest ring, 14 across"


@alone
async def test_one_can_look_from_where_it_was_looked_at_first() -> None:
    tab, made, _ = space(Step(1, 3, 3, "", "", rings=(ring("a", 9, 9, 9),)))
    tab.scripts.clear()
    with tab.client:
        made.look()
    (moved,) = calls(tab)
    # to x, y, z; looking at the middle; up is y; at once
    assert moved == ["move_camera", 0, 0, 140, 0, 0, 0, 0, 1, 0, 0]
    (scene,) = tab.all(ui.scene)
    assert f"getElement({scene.id})" in tab.scripts[-1]
    assert "zoom = 1" in tab.scripts[-1]


@alone
async def test_a_turn_by_hand_is_no_click() -> None:
    tab, made, _ = space(FIRST)
    (scene,) = tab.all(ui.scene)
    scripts = {one.type: one.js_handler for one in scene._event_listeners.values()}
    assert "clientX" in scripts["pointerdown"]
    assert "stopImmediatePropagation" in scripts["click"]
    with tab.client:
        made.close()
    assert tab.all(ui.scene) == []
