"""The rings beside the text: a slider over the steps, their pictures, and rings to be turned."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from typing import Any

from nicegui import ui
from nicegui.elements.scene.scene_object3d import Object3D
from nicegui.events import GenericEventArguments

from ringstep.table.ring_data import RingData, Step

_CSS = """
.ring-pictures { display: flex; flex-wrap: wrap; gap: 1rem; width: 100%;
  justify-content: center; align-items: end; }
.ring-pictures figure { margin: 0; max-width: 100%; text-align: center; }
.ring-pictures svg { max-width: 100%; height: auto; max-height: 60vh; zoom: 1.4; }
.ring-pictures [data-ring] { cursor: pointer; }
.ring-pictures [data-ring]:hover { opacity: 0.7; }
.ring-old { opacity: 0.35; }
.ring-space canvas { touch-action: none; cursor: grab; }
.ring-name { font: 14px sans-serif; color: #000; background: #ffffffcc; padding: 0 2px; }
"""
_OF_RING = '(e) => { const r = e.target.closest("[data-ring]"); if (r) emit(r.dataset.ring); }'
_SLID = "(e) => emit(e.target.value)"
# as a property it would be put back while it is moved
_SLIDE = (
    "setTimeout(() => {{ const s = getHtmlElement({}); if (!s) return;"
    " Object.assign(s, {}); s.setAttribute('aria-valuetext', {}); }})"
)
# the end of a turn by hand is a click as well
_DOWN = "(e) => { e.currentTarget.down = [e.clientX, e.clientY]; }"
_STILL = (
    "(e) => { const [x, y] = e.currentTarget.down ?? [0, 0];"
    " if (Math.hypot(e.clientX - x, e.clientY - y) > 4) e.stopImmediatePropagation(); }"
)
_CAN_TURN = 'return !!document.createElement("canvas").getContext("webgl2")'
_UNZOOM = "const s = getElement({}); s.camera.zoom = 1; s.camera.updateProjectionMatrix()"
_NO_SPACE = "This browser cannot show rings to be turned by hand, so the pictures stay."
_TURNED = "drag to turn, wheel or two fingers to go nearer"
_WORKING = "The rings are being worked out."
_OF_BEFORE = "The rings of the text as it is now are being worked out; these are of the one before."
_DONE = {"fold": "folded", "spread": "spread apart", "turn": "turned over"}
_MOST = 8.0  # of the largest ring: how much is seen at once of rings to be turned


class Torus(Object3D, component="torus.js"):
    """Rings as `_record` has them, as one object of a scene; only what changes is sent."""

    def show(self, rings: list[list[Any]]) -> None:
        """Put these in place of those shown."""
        old = {ring[0]: ring for ring in self.args[0]}
        changed = [ring for ring in rings if old.pop(ring[0], None) != ring]
        self.args = [rings]  # what the page asks for where it must begin anew
        self.run_method("change", changed, list(old))


class RingPanel:
    """Shows one `RingData`, a step at a time.

    on_step: is given the line of the recipe whose step is shown, where the maker chose it here.
    """

    def __init__(self, on_step: Callable[[int], None]) -> None:
        self._on_step = on_step
        self._data = RingData((), False)
        self._at = 0
        self._scene: ui.scene | None = None
        self._rings: Torus | None = None
        ui.add_css(_CSS)
        with ui.column().classes("w-full gap-2"):
            self._status = ui.label().props('role="status"').classes("w-full")
            with ui.row().classes("w-full items-center no-wrap gap-2"):
                self._back = _button("Step before", lambda: self._go(self._at - 1))
                self._slider = ui.element("input").classes("grow")
                self._slider.props('type="range" min="1" aria-label="Step of the work"')
                self._slider.on("input", self._slid, throttle=0.05, js_handler=_SLID)
                self._on = _button("Step after", lambda: self._go(self._at + 1))
            with ui.element("div").props('aria-live="polite"').classes("w-full"):
                self._place = ui.label().classes("text-bold")
                self._sentence = ui.label()
            self._pictures = ui.element("div").classes("ring-pictures")
            self._space = ui.element("div").classes("w-full ring-space")
            self._names = ui.row().classes("w-full items-center gap-1")
            with ui.row().classes("gap-2"):
                self._turn = _button("Turn by hand", self._turn_by_hand)
                self._reset = _button("View as at first", self._look)
            self._told = ui.label().classes("w-full").style("white-space: pre-line")
        self._draw()

    # -- what the page says ----------------------------------------------------------------------

    def show(self, data: RingData) -> None:
        """Show these steps, as near as may be to the one shown now."""
        if self._data.whole and self._data.steps and not data.whole:
            self.waiting(_OF_BEFORE)
            return
        here = self._step
        self._data, self._at = data, 0
        if here is not None and data.steps:
            steps = enumerate(data.steps)
            near = ((s.place != here.place, abs(s.line - here.line), n) for n, s in steps)
            self._at = min(near, key=lambda n: (n[1], n[0], n[2]))[2]
        self._status.text = "" if data.whole else _WORKING
        if not data.turn or not data.steps:
            self._leave_space()
        self._draw()

    def go_to_line(self, line: int) -> None:
        """Show the step that stands in this line of the recipe, if one does."""
        here, steps = self._step, self._data.steps
        found = [n for n, s in enumerate(steps) if s.line <= line <= s.last_line]
        if here is not None and found:
            place = here.place
            near = min(found, key=lambda n: (steps[n].place != place, abs(n - self._at)))
            self._go(near, tell=False)

    def waiting(self, words: str) -> None:
        """What is shown is of an earlier text."""
        self._status.text = words
        self._fade(True)

    def trouble(self, words: str) -> None:
        """There is nothing to show; the words say why."""
        self._data, self._at = RingData((), True), 0
        self._leave_space()
        self._draw()
        self._status.text = words

    # -- a step ----------------------------------------------------------------------------------

    @property
    def _step(self) -> Step | None:
        return self._data.steps[self._at] if self._data.steps else None

    def _slid(self, event: GenericEventArguments) -> None:
        self._go(int(event.args) - 1)

    def _go(self, at: int, tell: bool = True) -> None:
        at = max(0, min(at, len(self._data.steps) - 1))
        if at == self._at or not self._data.steps:
            return
        self._at = at
        self._draw()
        if tell:
            self._on_step(self._data.steps[at].line)

    def _draw(self) -> None:
        """Everything as the step that is shown has it."""
        step, count = self._step, len(self._data.steps)
        self._back.set_enabled(self._at > 0)
        self._on.set_enabled(self._at + 1 < count)
        place = f", {step.place}" if step and step.place else ""
        told = f"Step {step.number}{place} ({self._at + 1} of {count})" if step else ""
        self._place.text = told
        state = {"max": max(count, 1), "value": self._at + 1, "disabled": count < 2}
        ui.run_javascript(_SLIDE.format(self._slider.id, json.dumps(state), json.dumps(told)))
        self._sentence.text = step.sentence if step else ""
        self._told.text = "\n".join(self._data.told)
        self._turn.set_visibility(bool(self._data.turn))
        self._turn.text = "Turn by hand" if self._scene is None else "Back to the pictures"
        self._reset.set_visibility(self._scene is not None)
        self._pictures.set_visibility(self._scene is None)
        self._name_rings(step)
        if self._scene is not None and self._rings is not None and step is not None:
            self._rings.rotate_R([list(way) for way in self._data.turn])
            self._rings.show(self._records(step))
            self._rings.move(*_turned([-x for x in _middle(step)], self._data.turn))
            self._scene.props["aria-label"] = f"{step.words}; {_TURNED}"
            self._scene.update()
        elif step is not None:
            self._draw_pictures(step)
        else:
            self._pictures.clear()
        self._fade(False)

    def _draw_pictures(self, step: Step) -> None:
        self._pictures.clear()
        told = f"before step {step.number}, with arrows for what it does"
        with self._pictures:
            for picture, words, short in (
                (step.earlier, told, "before, with what is done"),
                (step.later, step.words, "after" if step.earlier else ""),
            ):
                if picture:
                    with ui.element("figure"):
                        # our own drawing, its words escaped where they were put in
                        shown = ui.html(picture, sanitize=False)
                        shown.props["role"], shown.props["aria-label"] = "img", words
                        shown.on("click", lambda e: self._clicked(e.args), js_handler=_OF_RING)
                        ui.label(short)

    def _name_rings(self, step: Step | None) -> None:
        """The rings that the step is about, each a way to the step that placed it."""
        self._names.clear()
        done = {mark: _DONE[move] for mark, move in step.moved} if step else {}
        with self._names:
            for mark, name in step.names if step else ():
                new = step is not None and mark in step.new
                how = "new" if new else done.get(mark, "gone through")
                self._ring_button(f"{name}, {how}", mark)

    def _ring_button(self, words: str, mark: str) -> None:
        _button(words, lambda: self._clicked(mark)).props("flat dense")

    def _clicked(self, mark: str) -> None:
        """A ring was clicked: show the step that placed it, and say its line."""
        line = next((line for ring, _, line in self._data.rings if ring == mark), 0)
        if not line:
            return
        steps = enumerate(self._data.steps)
        found = [(mark not in s.new, abs(n - self._at), n) for n, s in steps if s.line == line]
        if found:
            self._go(min(found)[2], tell=False)
        self._on_step(line)

    def _fade(self, old: bool) -> None:
        for shown in (self._pictures, self._space, self._names):
            if ("ring-old" in shown.classes) is not old:
                shown.classes(toggle="ring-old").props["aria-busy"] = "true" if old else "false"
                shown.update()

    # -- turned by hand --------------------------------------------------------------------------

    async def _turn_by_hand(self) -> None:
        """The rings in space in place of the pictures, or back."""
        if self._scene is not None:
            self._leave_space()
        elif await ui.run_javascript(_CAN_TURN):
            self._open_space()
        else:
            self._status.text = _NO_SPACE
            return
        self._draw()

    def _open_space(self) -> None:
        size, step = _across(self._data.steps), self._step
        camera = ui.scene.orthographic_camera(size=size, near=0.1, far=20 * size)
        camera.y, camera.z, camera.up_y, camera.up_z = 0, 10 * size, 1, 0
        with self._space:
            self._scene = ui.scene(
                grid=False, camera=camera, background_color="#fff", fps=45, click_events=["click"]
            )
        self._scene.classes("w-full").style("height: min(60vh, 32rem)").props('role="img"')
        self._scene.on("pointerdown", js_handler=_DOWN).on("click", js_handler=_STILL)
        self._scene.on_click(lambda e: self._clicked(e.hits[0].object_id) if e.hits else None)
        with self._scene:
            self._rings = Torus(self._records(step) if step else [])

    def _leave_space(self) -> None:
        if self._scene is not None:
            self._scene.delete()
        self._scene = self._rings = None

    def _look(self) -> None:
        """The view as it was at first."""
        if self._scene is not None:
            far = self._scene.camera.params["far"] / 2
            self._scene.move_camera(0, 0, far, 0, 0, 0, 0, 1, 0, duration=0)
            ui.run_javascript(_UNZOOM.format(self._scene.id))

    def _records(self, step: Step) -> list[list[Any]]:
        """What the page needs to know of each ring."""
        names = dict(step.names)
        new = {*step.new, *(mark for mark, _ in step.moved)}
        return [
            [r.id, 2 if r.id in new else int(r.id in step.through), names.get(r.id, ""),
             *r.centre, *r.normal, r.mean_radius, r.wire, *r.body]
            for r in step.rings
        ]  # fmt: skip


def _button(words: str, pressed: Callable[[], Any]) -> ui.button:
    return ui.button(words, on_click=pressed, color=None).props("outline no-caps no-wrap")


def _about(step: Step) -> list[Any]:
    about = {*step.new, *step.through, *(mark for mark, _ in step.moved)}
    return [r for r in step.rings if r.id in about] or list(step.rings)


def _middle(step: Step) -> list[float]:
    """Where the step is worked, in mm."""
    centres = [r.centre for r in _about(step)]
    return [sum(part) / len(centres) for part in zip(*centres, strict=True)]


def _across(steps: tuple[Step, ...]) -> float:
    """How much is to be seen at once, in mm: what every step is about, and some around it."""
    ring = max(2 * r.mean_radius + r.wire for s in steps for r in s.rings)
    far = max(math.dist(r.centre, _middle(s)) for s in steps for r in _about(s))
    return min(2 * (far + ring), _MOST * ring)


def _turned(point: list[float], turn: tuple[tuple[float, float, float], ...]) -> list[float]:
    return [sum(a * b for a, b in zip(point, way, strict=True)) for way in turn]
