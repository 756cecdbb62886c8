"""A few minutes of a day with faults, at a site in a process of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.soak.__main__ import difference
from tests.soak.day import Plan, live_through
from tests.soak.faults import Fault, Kind
from tests.soak.verdict import Verdict
from tests.tools import require_tool

#: From the second second on, one after the other.
FAULTS = [
    Fault(2.0, 0.0, Kind.PROBE_SPIKE, 0.0),
    Fault(2.5, 0.5, Kind.LOG_LOCKED, 0.0),
    Fault(3.5, 0.0, Kind.CLOCK_STEP, 0.9),
    Fault(4.0, 0.0, Kind.BUS_KILLED, 0.0),
    Fault(4.5, 0.5, Kind.SPEAKER_GONE, 0.0),
    Fault(5.5, 1.0, Kind.CROWD, 0.0),
]

pytestmark = pytest.mark.integration


async def test_a_site_lives_through_faults_and_its_calls_are_those_without_them(
    tmp_path: Path,
) -> None:
    require_tool("mosquitto", "mosquitto")
    plan = Plan(hours=0.08, speed=36.0, seed=1, folder=tmp_path)
    day = await live_through(plan, FAULTS, lambda line: None)
    found = difference(tmp_path)
    assert day.exit_code == 0
    assert day.struck.total() == len(FAULTS)
    assert found.equal >= 2  # turn and flip, at least
    assert list(Verdict(day, found, plan).defects()) == []
