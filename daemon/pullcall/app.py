"""Wiring: one process; the calls, and around them the pages and all that may fail alone."""

from __future__ import annotations

import asyncio
import logging
import resource
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import Any, Protocol

from pullcall import notify
from pullcall.door import Door
from pullcall.errors import CallsEndedError, PullcallError
from pullcall.mistakes import cause_of, name_of
from pullcall.stopping import end_within, stop_asked
from pullcall.supervision import Edge, Edges, Part, Trouble

_log = logging.getLogger(__name__)

#: How long an orderly shutdown may take, seconds: probes, a goodbye to the broker, the pages.
_SHUT_DOWN_S = 12.0
#: How long after the calls failed, seconds: the sooner it ends, the sooner it is started again.
_HURRY_S = 2.0
#: Files and sockets that may be open, where the system allows it.
_FILES = 16384
#: How often it is looked whether the service manager should show something else, seconds.
_BEAT_S = 1.0


class Runnable(Protocol):
    """What the process is there for: a live site, a board or a player."""

    @property
    def edges(self) -> Edges:
        """The parts around it that may fail without ending it."""

    def troubles(self) -> tuple[Trouble, ...]:
        """Every part that does not go."""

    async def run(self) -> None:
        """Run until cancelled; what this raises ends the process."""

    def close(self) -> None:
        """Let pages go and finish writing."""


async def serve(
    site: Runnable, doors: Sequence[Door], on_ready: Callable[[], str], *others: Part
) -> None:
    """Run until SIGINT or SIGTERM, or until the calls fail; then shut down in order.

    ``on_ready`` gives what a service manager shows of it. Raises CallsEndedError.
    """
    _allow_many_files()
    asked = asyncio.create_task(stop_asked().wait(), name="stop")
    calls = asyncio.create_task(site.run(), name="calls")
    beside = _kept(site.edges, others)
    pages = _kept(site.edges, [Part(door.name, door.serve) for door in doors])
    try:
        await _until_tried(site.edges, doors, (asked, calls))
        if not asked.done() and not calls.done():
            words = partial(_status, site, on_ready())
            notify.status(words())
            notify.ready()
            beside += _kept(site.edges, [Part("status", partial(_keep_shown, words))])
        await asyncio.wait({asked, calls}, return_when=asyncio.FIRST_COMPLETED)
        _say_if_failed(calls)
    finally:
        await _shut_down(site, calls, beside, pages, asked)
    if not calls.cancelled():
        raise CallsEndedError(_why(calls)) from calls.exception()


async def _shut_down(
    site: Runnable,
    calls: asyncio.Task[None],
    beside: Sequence[asyncio.Task[None]],
    pages: Sequence[asyncio.Task[None]],
    asked: asyncio.Task[Any],
) -> None:
    """In this order: probes are let go and children end, pages hear of it, the log is written,
    the doors are closed. All of it has a deadline, and a second signal cuts it short."""
    notify.stopping()
    _log.info("Stopping.")
    end_within(_HURRY_S if calls.done() else _SHUT_DOWN_S)
    await _ended(calls, *beside, asked)
    site.close()
    await _ended(*pages)


def _kept(edges: Edges, parts: Iterable[Part]) -> list[asyncio.Task[None]]:
    return [asyncio.create_task(edges.keep(part), name=part.name) for part in parts]


async def _ended(*tasks: asyncio.Task[Any]) -> None:
    """Cancel these and wait until they are over, however they end."""
    for task in tasks:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)


async def _until_tried(
    edges: Edges, doors: Sequence[Door], enough: Sequence[asyncio.Task[Any]]
) -> None:
    """Wait until each door is open, or known not to open for now; or until that is all one."""

    def is_waited_for(door: Door, edge: Edge) -> bool:
        return not door.opened.is_set() and not edge.note

    tried = [(door, edges.edge(door.name)) for door in doors]
    while (  # noqa: ASYNC110 - of a trouble there is no event
        any(is_waited_for(*one) for one in tried) and not any(task.done() for task in enough)
    ):
        await asyncio.sleep(0.01)


def _status(site: Runnable, usual: str) -> str:
    """What the service manager shows: what does not go first."""
    return " ".join([*(trouble.note for trouble in site.troubles()), usual])


async def _keep_shown(words: Callable[[], str]) -> None:
    """Tell the service manager whenever there are other words: of much that ends nobody tells."""
    shown = ""
    while True:
        if (now := words()) != shown:
            notify.status(now)
            shown = now
        await asyncio.sleep(_BEAT_S)


def _say_if_failed(calls: asyncio.Task[None]) -> None:
    """At once: what follows may hang, and is then cut short."""
    if calls.done() and not calls.cancelled():
        _log.critical("%s", _why(calls), exc_info=calls.exception())


def _why(calls: asyncio.Task[None]) -> str:
    """What ended the calls, as one sentence that says what to do."""
    ended_by = calls.exception()
    error = None if ended_by is None else cause_of(ended_by)
    if isinstance(error, PullcallError):
        return str(error)
    what = "ended" if error is None else f"were stopped by a mistake ({name_of(error)})"
    return f"The calls {what}: start Pullcall again, the cook goes on where it was."


def _allow_many_files() -> None:
    """Connections of a crowd must not leave the log or the loudspeaker without a file."""
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = _FILES if hard == resource.RLIM_INFINITY else min(_FILES, hard)
    if soft < wanted:
        resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))
