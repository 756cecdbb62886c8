"""Whoever polls a board cannot make it work the more for it."""

from __future__ import annotations

import json
from typing import Any

import pytest

from pullcall.access.limits import OF_SNAPSHOTS
from pullcall.access.records import WHOLE, Sight
from pullcall.bus.examples import EXAMPLES
from tests.api.board.board_client import ServedBoard

STRIPPED = Sight(hides_targets=True)
SIGHTS = [(WHOLE, None), (STRIPPED, None), (WHOLE, "north")]
POLLED = ["/api/v1/snapshot", "/api/v1/sites", "/api/v1/sites/north"]


async def test_the_rows_of_all_sites_are_as_rare_as_snapshots_of_the_board(
    board: ServedBoard,
) -> None:
    async with board.watcher() as watcher:
        for n in range(OF_SNAPSHOTS.burst):
            path = ("/api/v1/sites", "/api/v1/snapshot")[n % 2]
            assert (await watcher.get(path)).status_code == 200
        for path in ("/api/v1/sites", "/api/v1/snapshot"):
            refused = await watcher.get(path)
            assert refused.status_code == 429
            assert int(refused.headers["retry-after"]) >= 1
        assert (await watcher.get("/api/v1/visitor")).status_code == 200
        assert (await watcher.get("/api/v1/sites/north")).status_code == 200


@pytest.mark.parametrize(("sight", "site"), SIGHTS)
async def test_whoever_polls_within_half_a_second_costs_the_board_no_more_than_one(
    board: ServedBoard, monkeypatch: pytest.MonkeyPatch, sight: Sight, site: str | None
) -> None:
    worked_out = 0
    rows = board.board.roster.rows

    def counted(now: float) -> list[dict[str, Any]]:
        nonlocal worked_out
        worked_out += 1
        return rows(now)

    monkeypatch.setattr(board.board.roster, "rows", counted)
    async with board.watcher(sight, site) as one, board.watcher(sight, site) as other:
        board.clock.advance_to(board.clock.monotonic() + 0.5)
        worked_out = 0
        for client in (one, other):
            for path in POLLED:
                assert (await client.get(path)).status_code == 200
    assert worked_out == 1


@pytest.mark.parametrize(("sight", "site"), SIGHTS)
async def test_a_row_alone_is_the_row_among_all_and_both_are_of_now(
    board: ServedBoard, sight: Sight, site: str | None
) -> None:
    async with board.watcher(sight, site) as watcher:
        for celsius in (49.5, 50.5):
            said = EXAMPLES["reading"][0] | {"celsius": celsius}
            board.hear("north", "steak/1/reading", said)
            board.clock.advance_to(board.clock.monotonic() + 0.5)
            all_of_it = (await watcher.get("/api/v1/sites")).json()
            row = (await watcher.get("/api/v1/sites/north")).json()
            assert row == next(one for one in all_of_it["rows"] if one["site"] == "north")
            assert row["steaks"][0]["celsius"] == celsius
            assert all_of_it["t"] == board.board.now()


async def test_a_row_alone_tells_no_more_than_the_rows(board: ServedBoard) -> None:
    """ASVS 8.2.3: of each row, only the fields that one may read."""
    async with board.watcher(STRIPPED) as watcher:
        row = (await watcher.get("/api/v1/sites/north")).json()
    assert (row["alarm"], row["next"]) == (None, None)
    assert "pull_now" not in json.dumps(row)
    async with board.watcher(Sight(delay_s=120.0)) as late:
        assert (await late.get("/api/v1/sites/north")).status_code == 409
