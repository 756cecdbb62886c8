"""What a site sees around its cook."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from pullcall.clock import RealClock, RecordedClock
from pullcall.core.cook import Cook
from pullcall.events import CookHeader, Fault, FireSettings, SteakSettings
from pullcall.outlets.assembly import make_outlets
from pullcall.outlets.options import LoudspeakerOptions, WebhookOptions
from pullcall.outlets.phones import Phones
from pullcall.site.lookout import Lookout
from pullcall.sources.sink import LinkState, ProbeStatus

PROBE = ProbeStatus("own/1", "own", "own", "simulated", LinkState.STREAMING, 5.0, 9)


def test_only_batteries_of_the_cook_s_own_probes_are_told(tmp_path: Path) -> None:
    clock, real = RecordedClock(datetime(2026, 6, 13, 12, tzinfo=UTC)), RealClock()
    silent = LoudspeakerOptions(enabled=False)
    desk = make_outlets(silent, WebhookOptions(), Phones(real), real)
    lookout = Lookout(clock, desk, tmp_path / "cooks.db", lambda: True)
    steaks = (SteakSettings("left", channel="own/1"),)
    cook = Cook(CookHeader("c", "2026-06-13T12:00:00Z", steaks, fire=FireSettings("grate/1")))
    heard = [
        replace(PROBE, channel=f"{device}/1", device=device, name=device)
        for device in ("grate", "neighbour", "own")
    ]
    found = lookout.conditions(cook, tuple(heard), True, 0.0)
    assert [c.detail for c in found if c.fault is Fault.BATTERY] == ["grate", "own"]
