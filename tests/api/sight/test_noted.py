"""The snapshot is made once for all who come before the next message."""

from __future__ import annotations

import json
from typing import Any

from pullcall.api.sight.noted import Noted
from pullcall.board.quiet_hub import QuietHub
from pullcall.site.hub import Hub


class FakeSite:
    """Counts how often everything is put together."""

    def __init__(self, hub: Hub) -> None:
        self.hub = hub
        self.t = 100.0
        self.made = 0

    def now(self) -> float:
        return self.t

    def snapshot(self) -> dict[str, Any]:
        self.made += 1
        return {"epoch": self.hub.epoch, "seq": self.hub.seq, "t": self.t, "speed": 6}


def test_a_crowd_that_comes_at_once_gets_one_and_each_the_time_of_now() -> None:
    site = FakeSite(Hub())
    noted = Noted(site, "snapshot")
    told = []
    for _ in range(9):
        told.append(json.loads(noted.line()))
        site.t += 0.1
    assert site.made == 1
    assert [one["t"] for one in told[:3]] == [100.0, 100.1, 100.2]
    assert {one["type"] for one in told} == {"snapshot"}


def test_after_a_message_it_is_made_anew() -> None:
    site = FakeSite(Hub())
    noted = Noted(site, "snapshot")
    noted.line()
    site.hub.publish("reading", {})
    assert json.loads(noted.line())["seq"] == 1
    site.hub.restart()
    assert json.loads(noted.line())["epoch"] == site.hub.epoch


def test_it_grows_no_older_than_a_second() -> None:
    site = FakeSite(Hub())
    noted = Noted(site, "snapshot")
    noted.line()
    site.t += 1.0
    noted.line()
    assert site.made == 2


def test_while_messages_get_no_number_it_is_made_each_time() -> None:
    """What changes then would be missed by whoever begins from an older one."""
    site = FakeSite(QuietHub())
    noted = Noted(site, "snapshot")
    noted.line()
    noted.line()
    assert site.made == 2
