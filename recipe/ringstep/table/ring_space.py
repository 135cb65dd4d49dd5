"""The rings in space, to be turned by hand; parts are balls and boxes there, without holes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from nicegui import ui
from nicegui.elements.scene.scene_object3d import Object3D
from nicegui.events import SceneClickEventArguments

from ringstep.space.result import Vector
from ringstep.table.ring_data import RingAt, RingData, Step

#: Whether the browser can show this.
CAN_TURN = 'return !!document.createElement("canvas").getContext("webgl2")'
# the end of a turn by hand is a click as well
_DOWN = "(e) => { e.currentTarget.down = [e.clientX, e.clientY]; }"
_STILL = (
    "(e) => { const [x, y] = e.currentTarget.down ?? [0, 0];"
    " if (Math.hypot(e.clientX - x, e.clientY - y) > 4) e.stopImmediatePropagation(); }"
)
_UNZOOM = "const s = getElement({}); s.camera.zoom = 1; s.camera.updateProjectionMatrix()"
_TURNED = "drag to turn, wheel or two fingers to go nearer"
_MOST = 8.0  # of the largest ring: how much is seen at once
_PICTURES = 45  # a second at most


class Torus(Object3D, component="torus.js"):
    """Rings as `_record` has them, as one object of a scene; only what changes is sent."""

    def show(self, rings: list[list[Any]]) -> None:
        """Put these in place of those shown."""
        old = {ring[0]: ring for ring in self.args[0]}
        changed = [ring for ring in rings if old.pop(ring[0], None) != ring]
        self.args = [rings]  # what the page asks for where it must begin anew
        self.run_method("change", changed, list(old))


class RingSpace:
    """A scene with the rings of one step at a time; clicked: is given the id of a ring."""

    def __init__(self, data: RingData, step: Step, clicked: Callable[[str], None]) -> None:
        size = _across(data.steps)
        self._far = 10 * size
        camera = ui.scene.orthographic_camera(size=size, near=0.1, far=2 * self._far)
        camera.y, camera.z, camera.up_y, camera.up_z = 0, self._far, 1, 0

        def hit(event: SceneClickEventArguments) -> None:
            if event.hits:
                clicked(event.hits[0].object_id)

        self._scene = ui.scene(
            grid=False,
            camera=camera,
            background_color="#fff",
            fps=_PICTURES,
            click_events=["click"],
        )
        self._scene.classes("ring-scene").props('role="img"')
        self._scene.on("pointerdown", js_handler=_DOWN).on("click", js_handler=_STILL)
        self._scene.on_click(hit)
        with self._scene:
            self._rings = Torus(_records(step))
        self.show(data, step)

    def show(self, data: RingData, step: Step) -> None:
        """Show another step, its place in the middle, from where the maker looks now."""
        self._rings.rotate_R([list(way) for way in data.turn])
        self._rings.show(_records(step))
        self._rings.move(
            *(-sum(map(math.prod, zip(_middle(step), w, strict=True))) for w in data.turn)
        )
        self._scene.props["aria-label"] = f"{step.words}; {_TURNED}"
        self._scene.update()

    def look(self) -> None:
        """Look from where it was looked at first."""
        self._scene.move_camera(0, 0, self._far, 0, 0, 0, 0, 1, 0, duration=0)
        ui.run_javascript(_UNZOOM.format(self._scene.id))

    def close(self) -> None:
        """Take it off the page."""
        self._scene.delete()


def _records(step: Step) -> list[list[Any]]:
    """What the page needs to know of each ring."""
    names = dict(step.names)
    new = {*step.new, *(mark for mark, _ in step.moved)}
    return [
        [r.id, 2 if r.id in new else int(r.id in step.through), names.get(r.id, ""),
         *r.centre, *r.normal, r.mean_radius, r.wire, *r.body]
        for r in step.rings
    ]  # fmt: skip


def _about(step: Step) -> Sequence[RingAt]:
    """The rings that the step is about."""
    about = {*step.new, *step.through, *(mark for mark, _ in step.moved)}
    return [r for r in step.rings if r.id in about] or step.rings


def _middle(step: Step) -> Vector:
    """Where the step is worked, in mm."""
    centres = [r.centre for r in _about(step)]
    x, y, z = (sum(part) / len(centres) for part in zip(*centres, strict=True))
    return x, y, z


def _across(steps: Sequence[Step]) -> float:
    """How much is to be seen at once, in mm: what every step is about, and some around it."""
    ring = max(2 * r.mean_radius + r.wire for s in steps for r in s.rings)
    far = max(math.dist(r.centre, _middle(s)) for s in steps for r in _about(s))
    return min(2 * (far + ring), _MOST * ring)
