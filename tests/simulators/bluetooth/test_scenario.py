"""Scenario files of virtual probes."""

from __future__ import annotations

import sys
from asyncio.subprocess import PIPE
from pathlib import Path

import pytest

from pullcall.errors import ConfigError
from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.simulators.bluetooth.scenario import DEMO, dump, load, probe_from
from tests.process import running


def test_a_written_scenario_reads_back_as_the_same_probes(tmp_path: Path) -> None:
    probe = Probe(
        "02:00:00:00:00:07", "x", Standard.BTHOME, ("a", "b"), start_c=None, key="00" * 16
    )
    path = tmp_path / "scenario.json"
    path.write_text(dump([probe, *DEMO]), encoding="utf-8")
    assert load(str(path)) == (probe, *DEMO)


def test_the_demo_has_addresses_that_belong_to_nobody() -> None:
    # IEEE 802: the second-lowest bit of the first byte marks a locally administered address.
    assert all(int(probe.address[:2], 16) & 0b10 for probe in load("demo"))
    assert len({probe.address for probe in DEMO}) == len(DEMO)


@pytest.mark.parametrize(
    ("entry", "reason"),
    [
        ({"address": "02:00:00:00:00:07", "name": "x", "standard": "bthome", "rs": 1}, "no rs"),
        ({"address": "02:00:00:00:00:07", "name": "x", "standard": "smoke"}, "smoke"),
        ({"name": "x", "standard": "bthome"}, "address"),
    ],
)
def test_a_probe_that_cannot_be_is_refused_with_the_reason(
    entry: dict[str, object], reason: str
) -> None:
    with pytest.raises(ConfigError, match=reason):
        probe_from(entry)


@pytest.mark.integration
async def test_the_command_says_which_scenario_it_cannot_use(tmp_path: Path) -> None:
    missing = str(tmp_path / "none.json")
    command = (sys.executable, "-m", "pullcall.simulators.bluetooth", "--scenario", missing)
    async with running(*command, stderr=PIPE) as process:
        _, said = await process.communicate()
    assert process.returncode == 1
    assert f"scenario {missing} cannot be used".encode() in said
