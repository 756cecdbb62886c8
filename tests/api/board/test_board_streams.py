"""The streams of a board: its own and those of its sites, whole, late, stripped, or one site only.

Requirements are those of OWASP ASVS, checked against its 5.0.0 text.
"""

from __future__ import annotations

import asyncio
import json
from typing import Any

import pytest

from pullcall.access.records import WHOLE, Sight
from pullcall.bus.examples import EXAMPLES
from tests.api.board.board_client import ServedBoard, served_board
from tests.api.streams import Events, Socket

OF_SITE = "/sites/north/api/v1"
STRIPPED = Sight(hides_targets=True)
LATE = Sight(delay_s=120.0)
Json = dict[str, Any]


async def ticket(board: ServedBoard, sight: Sight = WHOLE, site: str | None = None) -> str:
    async with board.watcher(sight, site) as watcher:
        answer = await watcher.post("/api/v1/tickets")
        assert answer.status_code == 201
        return str(answer.json()["ticket"])


async def cookie(board: ServedBoard, sight: Sight = WHOLE, site: str | None = None) -> str:
    async with board.watcher(sight, site) as watcher:
        return str(watcher.cookies["__Host-pullcall_board"])


async def heard(socket: Socket, type: str) -> Json:
    """The next message of a type."""
    while True:
        message: Json = json.loads((await socket.next("websocket.send"))["text"])
        if message["type"] == type:
            return message


async def settle() -> None:
    for _ in range(50):
        await asyncio.sleep(0)


async def pass_time(board: ServedBoard, seconds: float) -> None:
    """A second after the other, with everything done that is due in it."""
    for _ in range(round(seconds)):
        await settle()
        board.clock.advance_to(board.clock.monotonic() + 1.0)
    await settle()


def pull(board: ServedBoard, celsius: float) -> None:
    """A reading arrives from the north."""
    board.hear("north", "steak/1/reading", EXAMPLES["reading"][0] | {"celsius": celsius})


def celsius_of(row: Json) -> float:
    return float(row["steaks"][0]["celsius"])


# Who gets in


@pytest.mark.parametrize("path", ["/api/v1/stream", f"{OF_SITE}/stream"])
async def test_a_websocket_needs_a_ticket(board: ServedBoard, path: str) -> None:
    """ASVS 4.4.3: the socket's own token, for a cookie comes with any page's websocket."""
    own = await cookie(board)
    for tickets in ((), (own,), ("nonsense",)):
        refused = Socket(board, tickets=tickets, cookie=own, path=path)
        assert (await refused.next("websocket.close"))["type"] == "websocket.close"
        await refused.close()


async def test_a_ticket_opens_the_board_and_a_site_for_thirty_seconds(board: ServedBoard) -> None:
    """ASVS 9.2.1."""
    good = await ticket(board)
    for path, start in (("/api/v1/stream", "board"), (f"{OF_SITE}/stream", "snapshot")):
        socket = Socket(board, tickets=(good,), path=path)
        assert (await socket.next("websocket.accept"))["subprotocol"] == "pullcall.1"
        assert (await heard(socket, "hello"))["resumed"] is False
        assert (await heard(socket, start))["type"] == start
        await socket.close()
    board.clock.advance_to(31.0)
    late = Socket(board, tickets=(good,))
    await late.next("websocket.close")
    await late.close()


@pytest.mark.parametrize("path", ["/api/v1/stream", f"{OF_SITE}/stream"])
async def test_this_machine_needs_no_ticket(board: ServedBoard, path: str) -> None:
    at = "127.0.0.1"
    socket = Socket(board, origin=f"http://{at}", host=at, client=at, server=at, path=path)
    await heard(socket, "hello")
    await socket.close()


async def test_a_ticket_of_one_site_opens_no_other(board: ServedBoard) -> None:
    """ASVS 8.2.2."""
    own = await ticket(board, site="north")
    for site in ("south", "no-such-site"):
        other = Socket(board, tickets=(own,), path=f"/sites/{site}/api/v1/stream")
        await other.next("websocket.close")
        await other.close()
    socket = Socket(board, tickets=(own,), path=f"{OF_SITE}/stream")
    await heard(socket, "snapshot")
    await socket.close()


async def test_any_board_with_the_secret_takes_a_ticket(board: ServedBoard) -> None:
    """A balancer may send the request for it to one board, and the websocket to another."""
    socket = Socket(served_board(), tickets=(await ticket(board),))
    assert (await heard(socket, "board"))["rows"]
    await socket.close()


async def test_a_stream_ends_with_its_pass(board: ServedBoard) -> None:
    """ASVS 7.3.2: also while it is open."""
    socket = Socket(board, tickets=(await ticket(board),))
    await heard(socket, "board")
    await settle()
    board.clock.advance_to(12 * 3600.0 + 1.0)
    for _ in range(3):
        await settle()
        board.clock.advance_to(board.clock.monotonic() + 61.0)
    assert (await socket.next("websocket.close"))["code"] == 4401
    await socket.close()


async def test_a_phone_has_a_few_streams_and_no_more(board: ServedBoard) -> None:
    own = await cookie(board)
    streams = [Events(board, own, name="__Host-pullcall_board") for _ in range(4)]
    for stream in streams:
        assert await stream.status() == 200
        assert (await stream.next() or {})["type"] == "hello"
    fifth = Events(board, own, name="__Host-pullcall_board")
    assert await fifth.status() == 503
    for stream in [*streams, fifth]:
        await stream.close()


# What they carry


async def test_the_boards_stream_can_be_resumed(board: ServedBoard) -> None:
    own = await cookie(board)
    first = Events(board, own, name="__Host-pullcall_board")
    hello = await first.next() or {}
    assert (hello["type"], hello["resumed"]) == ("hello", False)
    board.board.hub.publish("rows", {"t": 0.0, "rows": [], "order": []})
    again = Events(
        board, own, f"epoch={hello['epoch']}&since={hello['seq']}", name="__Host-pullcall_board"
    )
    resumed = await again.next() or {}
    assert resumed["resumed"] is True
    assert (await again.next() or {})["type"] == "rows"
    for stream in (first, again):
        await stream.close()


async def test_a_watcher_of_one_site_hears_of_that_one_only(board: ServedBoard) -> None:
    """ASVS 8.2.2."""
    socket = Socket(board, tickets=(await ticket(board, site="north"),))
    start = await heard(socket, "board")
    assert [row["site"] for row in start["rows"]] == ["north"]
    board.hear("south", "steak/1/reading", EXAMPLES["reading"][0] | {"celsius": 12.0})
    pull(board, 50.5)
    await pass_time(board, 2.0)
    rows = await heard(socket, "rows")
    assert rows["order"] == ["north"]
    assert [celsius_of(row) for row in rows["rows"]] == [50.5]
    await socket.close()


async def test_without_targets_nothing_tells_of_pulls(board: ServedBoard) -> None:
    """ASVS 8.2.3: of each row, only the fields that one may read."""
    socket = Socket(board, tickets=(await ticket(board, STRIPPED),))
    start = await heard(socket, "board")
    for row in start["rows"]:
        assert (row["alarm"], row["next"]) == (None, None)
        assert [(s["pull_c"], s["pull_t"]) for s in row["steaks"]] == [(None, None)]
        assert celsius_of(row) == 48.9
    assert "pull_now" not in json.dumps(start)
    await socket.close()


async def test_late_nothing_is_shown_before_its_time(board: ServedBoard) -> None:
    async with board.watcher(LATE) as watcher:
        early = await watcher.get("/api/v1/sites")
        assert early.status_code == 409
        assert "2 min late" in early.json()["detail"]
        await pass_time(board, 10.0)
        pull(board, 51.5)
        await pass_time(board, 115.0)
        shown = (await watcher.get("/api/v1/sites")).json()
        assert celsius_of(shown["rows"][0]) == 48.9
        assert shown["t"] == pytest.approx(board.board.now() - 120.0)
        await pass_time(board, 15.0)
        later = (await watcher.get("/api/v1/sites")).json()
        assert celsius_of(later["rows"][0]) == 51.5


async def test_a_late_page_that_waits_is_told_when_it_begins(board: ServedBoard) -> None:
    socket = Socket(board, tickets=(await ticket(board, LATE),))
    assert (await heard(socket, "hello"))["epoch"] == ""
    await pass_time(board, 121.0)
    assert (await heard(socket, "tick"))["t"] == pytest.approx(121.0 - 120.0)
    start = await heard(socket, "board")
    assert [row["site"] for row in start["rows"]] == ["north", "south"]
    await socket.close()


async def test_a_site_is_shown_late_and_without_targets_too(board: ServedBoard) -> None:
    async with board.watcher(Sight(60.0, hides_targets=True)) as watcher:
        assert (await watcher.get(f"{OF_SITE}/snapshot")).status_code == 409
        await pass_time(board, 65.0)
        shown = (await watcher.get(f"{OF_SITE}/snapshot")).json()
    assert shown["steaks"][0]["reading"]["celsius"] == 48.9
    assert "pull_c" not in shown["steaks"][0]
    assert shown["calls"] == []


# What it costs


async def test_a_feed_runs_only_while_somebody_looks(board: ServedBoard) -> None:
    """Many sites must not keep as many feeds going for good."""
    feeds = board.app.state.feeds.sites
    async with board.watcher(STRIPPED) as watcher:
        for site in ("north", "south"):
            await watcher.get(f"/sites/{site}/api/v1/snapshot")
    socket = Socket(board, tickets=(await ticket(board, STRIPPED),), path=f"{OF_SITE}/stream")
    await heard(socket, "snapshot")
    assert len(feeds) == 2
    for _ in range(25):
        await pass_time(board, 1.0)
        board.clock.advance_to(board.clock.monotonic() + 30.0)
    await settle()
    assert len(feeds) == 1, "nobody looks at the south"
    await socket.close()
    for _ in range(25):
        await pass_time(board, 1.0)
        board.clock.advance_to(board.clock.monotonic() + 30.0)
    await settle()
    assert len(feeds) == 0


async def test_whoever_sees_everything_needs_no_feed_of_their_own(board: ServedBoard) -> None:
    async with board.watcher() as watcher:
        await watcher.get(f"{OF_SITE}/snapshot")
    assert len(board.app.state.feeds.sites) == 0


async def test_a_page_is_told_of_the_broker_as_it_may_know_it(board: ServedBoard) -> None:
    watcher = Socket(board, tickets=(await ticket(board),))
    at = "127.0.0.1"
    own = Socket(board, origin=f"http://{at}", host=at, client=at, server=at)
    for page in (watcher, own):
        await heard(page, "board")
    board.cut_off("The broker broker.example:8883 cannot be reached.")
    notes = [(await heard(page, "board"))["broker"]["note"] for page in (watcher, own)]
    assert notes == [
        "The board does not reach its broker: it is tried again.",
        "The broker broker.example:8883 cannot be reached.",
    ]
    for page in (watcher, own):
        await page.close()
