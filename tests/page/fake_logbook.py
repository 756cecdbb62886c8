"""The logbook of the scripted site: its requests as docs/after.md has them, on invented cooks."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.responses import JSONResponse

from tests.page import logged_cooks

Body = dict[str, Any]


@dataclass
class Logbook:
    """``works`` is how often a cook's facts are still being worked out when asked for;
    ``trouble`` is why they could not be; ``refusal`` is the answer to the next thing written."""

    rows: list[Body] = field(default_factory=logged_cooks.rows)
    lessons: list[Body] = field(default_factory=logged_cooks.lessons)
    works: int = 0
    trouble: str | None = None
    refusal: str | None = None
    written: list[Body] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)  # queries for cooks, files, comparisons
    sent: list[tuple[str, str, bytes]] = field(default_factory=list)  # path, query, body

    def __post_init__(self) -> None:
        self.notes = {one["cook"]: logged_cooks.notes_of(one) for one in self.rows}

    def found(self, words: str) -> list[Body]:
        asked = words.lower().split()
        return [one for one in self.rows if all(w in json.dumps(one).lower() for w in asked)]

    def cook(self, id: str) -> Body:
        row = next(one for one in self.rows if one["cook"] == id)
        is_working = self.works > 0
        self.works -= is_working
        known = not (is_working or self.trouble or row["running"])
        return {"row": row, "notes": self.notes[id], "working": is_working, "trouble": self.trouble,
                "facts": logged_cooks.facts() if known else None}  # fmt: skip

    def write(self, id: str, notes: list[Body]) -> None:
        self.written += notes
        names = {(one["steak"], one["name"]) for one in notes}
        kept = [one for one in self.notes[id] if (one["steak"], one["name"]) not in names]
        self.notes[id] = kept + [one for one in notes if one["value"] is not None]
        row = next(one for one in self.rows if one["cook"] == id)
        row.update({n["name"]: n["value"] or "" for n in notes if n["name"] in ("place", "notes")})

    def use(self, name: str, mode: str, value: float | None) -> None:
        lesson = next(one for one in self.lessons if one["name"] == name)
        lesson["mode"] = mode
        if mode == "own":
            lesson["own"] = value
        figure = lesson[mode]
        lesson["in_force"] = lesson["default"] if figure is None else figure

    def learned(self) -> Body:
        return {
            "lessons": self.lessons,
            "hindsight": logged_cooks.HINDSIGHT,
            "cooks": 2,
            "working": 0,
        }


def add_logbook(app: FastAPI, book: Logbook) -> None:
    """The requests about the cooks that were."""
    add_cooks(app, book)
    add_learned(app, book)
    add_moving(app, book)


def add_cooks(app: FastAPI, book: Logbook) -> None:
    @app.get("/api/v1/cooks")
    async def cooks(words: str = "") -> list[Body]:
        book.asked.append(f"cooks {words}".strip())
        return book.found(words)

    @app.get("/api/v1/cooks/{id}")
    async def cook(id: str) -> Any:
        if id not in book.notes:
            return _refused("No cook has this id: it was deleted, or never logged.", 404)
        return book.cook(id)

    @app.patch("/api/v1/cooks/{id}")
    async def write(id: str, body: Body) -> Any:
        if book.refusal:
            return _refused(book.refusal)
        book.write(id, body["notes"])
        return book.cook(id)

    @app.delete("/api/v1/cooks/{id}", status_code=204)
    async def remove(id: str) -> Response:
        book.rows = [one for one in book.rows if one["cook"] != id]
        return Response(status_code=204)

    @app.get("/api/v1/cooks/{id}/report")
    async def report(id: str, unit: str) -> Response:
        book.asked.append(f"report {id} {unit}")
        return Response(
            "<!doctype html><title>Report</title><h1>A report</h1>", 200, {}, "text/html"
        )

    @app.get("/api/v1/comparison")
    async def comparison(request: Request) -> Body:
        book.asked.append(f"comparison {request.url.query}")
        cooks = request.query_params.getlist("cook")
        return {"cooks": cooks, "rows": logged_cooks.COMPARED, "words": logged_cooks.DIFFERED}

    @app.get("/api/v1/comparison/chart")
    async def chart(request: Request) -> Response:
        book.asked.append(f"chart {request.url.query}")
        return Response(logged_cooks.CHART, media_type="image/svg+xml")


def add_learned(app: FastAPI, book: Logbook) -> None:
    @app.get("/api/v1/learned")
    async def learned() -> Body:
        return book.learned()

    @app.put("/api/v1/learned/{name}")
    async def use(name: str, body: Body) -> Any:
        if book.refusal:
            return _refused(book.refusal)
        book.written.append({"lesson": name, **body})
        book.use(name, body["mode"], body.get("value"))
        return book.learned()


def add_moving(app: FastAPI, book: Logbook) -> None:
    @app.get("/api/v1/logbook/{kind}")
    @app.get("/api/v1/backup")
    async def file(request: Request, kind: str = "backup") -> Response:
        headers = {"content-disposition": f'attachment; filename="pullcall.{kind}"'}
        return Response(f"a {kind}", media_type="application/octet-stream", headers=headers)

    @app.post("/api/v1/restore")
    @app.post("/api/v1/import")
    async def take(request: Request) -> Any:
        path = request.url.path.removeprefix("/api/v1/")
        book.sent.append((path, request.url.query, await request.body()))
        if book.refusal:
            return _refused(book.refusal)
        if path == "restore":
            return {"cooks": 3, "known": 1, "words": "3 cooks came in; 1 was here already."}
        return {"cook": "c2", "records": 512, "broken": ["line 7: no number in Probe 1"]}


def _refused(detail: str, status: int = 409) -> JSONResponse:
    problem = {"title": "Conflict", "status": status, "detail": detail}
    return JSONResponse(problem, status, media_type="application/problem+json")
