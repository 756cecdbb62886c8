"""A file that somebody sends: onto the disk as it comes, never whole in memory."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from http import HTTPStatus
from pathlib import Path

from fastapi import HTTPException, Request
from starlette.requests import ClientDisconnect

from pullcall.api.guard.bodies import PATIENCE_S
from pullcall.site.scratch import Scratch

#: Left free on the disk for the cook that runs, bytes.
RESERVE = 64 * 1024 * 1024
#: Slower than any Wi-Fi that a page loads over: somebody only keeps the place, bytes a second.
LEAST_PER_S = 16 * 1024
#: The disk's room is looked at again after so many bytes.
_STRIDE = 1024 * 1024
_TOO_SLOW = "The file comes too slowly: go nearer to the site's Wi-Fi, and send it again."


@asynccontextmanager
async def uploaded(request: Request, most: int, scratch: Scratch) -> AsyncIterator[Path]:
    """The body of ``request`` as a file on the disk of ``scratch``, gone afterwards.

    Every look at the disk is a thread's. Raises HTTPException: 413 for more than ``most`` bytes,
    408 where it stops coming, 507 where the disk has no room for it.
    """
    await asyncio.to_thread(require_room, scratch.folder, min(_announced(request), most))
    place = await asyncio.to_thread(scratch.make)
    try:
        path = place / "file"
        await _receive(request, path, most)
        yield path
    finally:
        await asyncio.to_thread(scratch.remove, place)


def _announced(request: Request) -> int:
    length = request.headers.get("content-length", "")
    return int(length) if length.isascii() and length.isdigit() and len(length) < 16 else 0


def require_room(folder: Path, size: int) -> None:
    """Raise HTTPException (507) where the disk has no room for ``size`` more bytes."""
    if shutil.disk_usage(folder).free < size + RESERVE:
        raise HTTPException(
            HTTPStatus.INSUFFICIENT_STORAGE, "The site's disk has no room for it: make room there."
        )


async def _receive(request: Request, path: Path, most: int) -> None:
    size, looked, chunks = 0, 0, request.stream()
    loop = asyncio.get_running_loop()
    until = loop.time() + PATIENCE_S
    with await asyncio.to_thread(path.open, "wb") as file:
        while True:
            chunk = await _next(chunks)
            if not chunk:
                return
            if loop.time() > until + size / LEAST_PER_S:
                raise HTTPException(HTTPStatus.REQUEST_TIMEOUT, _TOO_SLOW)
            size += len(chunk)
            if size > most:
                detail = f"Send a file of at most {most // 1024 // 1024} MiB."
                raise HTTPException(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, detail)
            if size - looked >= _STRIDE:
                await asyncio.to_thread(require_room, path.parent, 0)
                looked = size
            await asyncio.to_thread(file.write, chunk)


async def _next(chunks: AsyncIterator[bytes]) -> bytes:
    """What comes next; nothing once the file is whole."""
    try:
        async with asyncio.timeout(PATIENCE_S):
            return await anext(chunks, b"")
    except (TimeoutError, ClientDisconnect) as exc:
        detail = f"Nothing came for {PATIENCE_S:g} s: send the file again."
        raise HTTPException(HTTPStatus.REQUEST_TIMEOUT, detail) from exc
