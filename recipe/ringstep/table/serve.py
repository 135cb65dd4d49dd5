"""The server of the page: on this machine alone, behind the guard, offline.

Nothing is fetched from elsewhere; what NiceGUI needs is served from its package.
"""

from __future__ import annotations

import socket
from collections.abc import Callable
from typing import Any

import uvicorn
from fastapi import FastAPI, Request, Response
from nicegui import app as pages
from nicegui import ui

from ringstep.language.screen import safe
from ringstep.language.source import Refused
from ringstep.paper.page import beside
from ringstep.table.guard import Guard
from ringstep.table.page import Behind, Page
from ringstep.table.services import completions, hover
from ringstep.table.text_editor import line_begins, units
from ringstep.table.words_sheet import words_sheet

#: Seconds for which a page that lost its server (a laptop asleep) is waited for.
_WAIT = 600.0


def serve(behind: Behind, first: str, begun: Callable[[str], None], port: int = 0) -> None:
    """Serve until Ctrl-C. first: the recipe to open. begun: gets the address once it is served.

    port: 0 for any that is free. Raises OSError where it is not free.
    """
    web = FastAPI(openapi_url=None)
    _answers(web, behind)
    _page(behind, first)
    ui.run_with(
        web, title="ringstep", favicon=_ICON, reconnect_timeout=_WAIT,
        show_welcome_message=False, tailwind=False, language="en-US",
    )  # fmt: skip
    with socket.socket() as listening:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(("127.0.0.1", port))
        guard = Guard(web, listening.getsockname()[1])
        pages.on_startup(lambda: begun(guard.address))
        config = uvicorn.Config(guard, log_level="critical", timeout_graceful_shutdown=1)
        uvicorn.Server(config).run([listening])


#: A ring.
_ICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16">'
    '<circle cx="8" cy="8" r="5.5" fill="none" stroke="#555" stroke-width="3"/></svg>'
)


def _page(behind: Behind, first: str) -> None:
    @ui.page("/")
    def page(file: str = first) -> None:
        ui.add_head_html(f"<style>{beside('page.css', __file__)}</style>")
        ui.add_head_html(f"<script>{beside('page.js', __file__)}</script>")
        ui.colors(primary="#3a4a5a")
        try:
            Page(behind, file, behind.files.opened(file))
        except Refused as fault:
            ui.label(safe(str(fault)))
            ui.link("Back to the recipe that was opened first", "/")


def _answers(web: FastAPI, behind: Behind) -> None:
    """What the page asks for beside its own events."""

    @web.get("/made/{name}")
    def made(name: str) -> Response:
        try:
            return Response(behind.papers.read(name), media_type="text/html; charset=utf-8")
        except Refused as fault:
            return Response(safe(str(fault)), 404, media_type="text/plain; charset=utf-8")

    @web.get("/words")
    def words() -> Response:
        return Response(words_sheet(), media_type="text/html; charset=utf-8")

    @web.post("/ask/{about}")
    async def ask(about: str, request: Request) -> Any:
        asked = await request.json()
        text, at = str(asked["text"]), int(asked["at"])
        begins = line_begins(text)
        at = len(text.encode("utf-16-le", "surrogatepass")[: 2 * at].decode("utf-16-le", "replace"))
        line = sum(begin <= at for begin in begins)
        column = at - begins[line - 1] + 1

        def place(number: int) -> int:
            return units(text[: begins[line - 1] + number - 1])

        if about == "hover":
            told = hover(text, line, column)
            if told is None:
                return None
            span, words = told.span, "\n".join(map(safe, told.lines))
            return {"from": place(span.column), "to": place(span.end), "words": words}
        found = completions(text, line, column)
        if not found:
            return None
        return {
            "from": place(found[0].span.column),
            "options": [
                {"label": safe(one.typed.strip()), "detail": safe(one.says), "apply": one.typed}
                for one in found
            ],
        }
