"""A short form of ``make crash``: the daemon, a broker and a gateway, each in its own process."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from pullcall.simulators.open_broker import open_broker
from tests.crash.moments import Moment, planned
from tests.crash.run import CrashRun
from tests.integration.daemon import free_pair
from tests.tools import require_tool

MOMENTS = (
    Moment.COMMIT,
    Moment.MARK,
    Moment.TWICE,
    Moment.ANNOUNCING,
    Moment.SHUTDOWN,
    Moment.RESUME,
)


@pytest.mark.integration
async def test_a_daemon_that_is_killed_six_times_loses_nothing_it_confirmed(tmp_path: Path) -> None:
    require_tool("mosquitto", "mosquitto")
    folder = tmp_path / "daemon"
    folder.mkdir()
    with open_broker(tmp_path) as broker:
        run = CrashRun(folder, broker, free_pair(), seed=1, say=lambda line: None)
        tally = await run.run(MOMENTS, torn_starts=1)
    assert tally.defects == []
    assert tally.count == len(MOMENTS)
    assert tally.confirmed["reading"] > 0
    assert tally.confirmed["setting"] > 0
    assert (tally.orphans, tally.left) == (0, [])


def test_the_moments_are_those_of_their_seed() -> None:
    first, again = (list(planned(200, Random(5))) for _ in range(2))
    assert first == again
    assert len(first) == 200
    assert set(first) == set(Moment) - {Moment.CHANGE}
