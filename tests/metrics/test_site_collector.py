"""What a scrape of a site tells."""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from pullcall.bus.status import BusState, BusStatus
from pullcall.clock import RecordedClock
from pullcall.core.phase import Phase
from pullcall.events import (
    Call,
    CallKind,
    CookHeader,
    Forecast,
    Quantiles,
    Reading,
    SteakSettings,
)
from pullcall.log.entries import Entry
from pullcall.log.store import Store
from pullcall.metrics.site_collector import MOST_CHANNELS
from pullcall.site.live import Site
from pullcall.sources.sink import (
    AdapterStatus,
    ChannelReading,
    LinkCounts,
    LinkState,
    ProbeStatus,
    Sink,
)
from tests.desk import KeptSpeaker
from tests.metrics.simulated import STARTED, IdleBridge, scraped_site, simulated_site, site_of

ODD = 'le"ft \\ one\nmore'
CROWD = 200


class Crowd:
    """Strangers' probes all around; ours is the last that was heard."""

    def __init__(self) -> None:
        self.counts = [LinkCounts(f"02:{n:04d}", n, 0) for n in range(CROWD)]

    async def run(self, sink: Sink) -> None:
        await asyncio.Event().wait()

    def probes(self) -> tuple[ProbeStatus, ...]:
        return tuple(
            ProbeStatus(f"02:{n:04d}/1", f"02:{n:04d}", "", "x", LinkState.STREAMING, age_s=1.5)
            for n in range(CROWD)
        )

    def links(self) -> tuple[LinkCounts, ...]:
        return tuple(self.counts)

    def adapter(self) -> AdapterStatus | None:
        return None


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """Idle, with one oddly named steak in a crowd of probes."""
    usual = CookHeader("", "", (SteakSettings(ODD, channel=f"02:{CROWD - 1:04d}/1"),))
    with Store(tmp_path / "cooks.db") as store:
        site = site_of(store, RecordedClock(STARTED), [Crowd()], usual, KeptSpeaker())
        yield site
        site.close()


def labels(samples: dict[tuple[tuple[str, str], ...], float], name: str) -> list[str]:
    return [dict(found)[name] for found in samples]


# A simulated cook


def test_every_name_help_and_unit_keeps_the_rules() -> None:
    """Prefix and base units are those of prometheus.io/docs/practices/naming (from memory)."""
    families = simulated_site().exposed.families.values()
    assert len(families) > 20
    for family in families:
        assert family.name.startswith("pullcall_")
        assert family.documentation.endswith(".")
        assert family.documentation[0].isupper()
        assert family.unit in ("", "seconds", "ratio")
        for unit in ("seconds", "ratio"):
            assert family.name.endswith(f"_{unit}") == (family.unit == unit)


def test_each_probe_tells_its_age_and_battery_with_its_steak() -> None:
    exposed = simulated_site().exposed
    left, right = (
        {"channel": f"simulated-{n}/0", "steak": steak} for n, steak in ((1, "left"), (2, "right"))
    )
    for probe in (left, right):
        assert 0.0 <= exposed.value("pullcall_probe_age_seconds", probe) <= 3.0
    assert exposed.value("pullcall_probe_battery_ratio", right) == 0.64
    grate = {"channel": "simulated-3/0", "steak": ""}
    assert exposed.value("pullcall_probe_age_seconds", grate) <= 3.0
    assert exposed.value("pullcall_probes") == 3


def test_each_steak_is_in_one_phase() -> None:
    told = simulated_site().exposed.samples("pullcall_steak_phase")
    assert len(told) == 2 * len(Phase)
    on = {dict(found)["steak"] for found, value in told.items() if value == 1}
    assert on == {"left", "right"}
    phases = {dict(found)["pullcall_steak_phase"] for found, value in told.items() if value == 1}
    assert phases == {"on"}


def test_a_forecast_is_at_most_a_second_or_two_old() -> None:
    told = simulated_site().exposed.samples("pullcall_forecast_age_seconds")
    assert sorted(labels(told, "steak")) == ["left", "right"]
    assert all(0.0 <= age <= 2.0 for age in told.values())


def test_every_announcement_is_counted_and_timed_to_what_was_heard() -> None:
    scraped = simulated_site()
    exposed, kinds = scraped.exposed, Counter(str(call.call) for call in scraped.announced)
    assert kinds["turn"] >= 1
    told = exposed.samples("pullcall_calls_total")
    assert {dict(found)["call"]: n for found, n in told.items() if n} == kinds
    assert set(labels(told, "call")) == {str(kind) for kind in CallKind}
    count = len(scraped.announced)
    assert exposed.value("pullcall_call_announcement_delay_seconds_count") == count
    heard = {"outlet": "loudspeaker"}
    assert exposed.value("pullcall_call_receipt_delay_seconds_count", heard) == count
    assert exposed.value("pullcall_call_receipt_delay_seconds_count", {"outlet": "phones"}) == 0


def test_the_log_the_loop_and_the_inbox_are_well() -> None:
    exposed = simulated_site().exposed
    assert exposed.value("pullcall_log_waiting_entries") == 0
    assert exposed.value("pullcall_log_commit_seconds_count") > 100
    assert exposed.value("pullcall_log_failed_commits_total") == 0
    assert exposed.value("pullcall_log_dropped_readings_total") == 0
    assert exposed.value("pullcall_inbox_dropped_readings_total") == 0
    assert exposed.value("pullcall_call_loop_beats_total") > 100


# What a site could be made to tell


def test_a_hall_full_of_probes_is_told_of_in_part_and_ours_first(site: Site) -> None:
    exposed = scraped_site(site)
    ages = exposed.samples("pullcall_probe_age_seconds")
    assert len(ages) == MOST_CHANNELS
    assert ODD in labels(ages, "steak")
    assert exposed.value("pullcall_probes") == CROWD
    for name in ("connects", "reconnects", "refused_packets"):
        assert len(exposed.samples(f"pullcall_probe_{name}_total")) == MOST_CHANNELS


def test_our_own_devices_links_are_told_of_in_a_crowd(site: Site) -> None:
    own = {"device": f"02:{CROWD - 1:04d}"}
    exposed = scraped_site(site)
    assert exposed.value("pullcall_probe_connects_total", own) == CROWD - 1
    assert exposed.value("pullcall_probe_refused_packets_total", own) == 0


def test_any_name_of_a_steak_can_be_told(site: Site) -> None:
    told = scraped_site(site).samples("pullcall_steak_phase")
    assert set(labels(told, "steak")) == {ODD}


def test_without_a_broker_nothing_is_told_of_one(site: Site) -> None:
    assert not [name for name in scraped_site(site).families if "bridge" in name]


def test_what_the_process_that_publishes_tells_is_told_on(site: Site) -> None:
    site.bridge = IdleBridge(BusStatus(BusState.FAILING, "Look.", 7, 6, 5, 4, 3, 2, 1))
    exposed = scraped_site(site)
    counts = {"dropped_calls": 6, "reconnects": 5, "messages": 4, "restarts": 3}
    counts |= {"unconfirmed_calls": 2, "oversized_records": 1}
    for name, count in counts.items():
        assert exposed.value(f"pullcall_bridge_{name}_total") == count
    assert exposed.value("pullcall_bridge_waiting_records") == 7
    states = exposed.samples("pullcall_bridge_broker")
    assert [dict(found)["pullcall_bridge_broker"] for found, on in states.items() if on] == [
        "failing"
    ]


def test_phones_that_sound_are_told_from_those_that_only_look(site: Site) -> None:
    site.phone_seen("one", True)
    site.phone_seen("two", False)
    exposed = scraped_site(site)
    assert exposed.value("pullcall_phones_here") == 2
    assert exposed.value("pullcall_phones_armed") == 1


def test_readings_that_were_dropped_are_counted(site: Site) -> None:
    for n in range(700):
        site.reading(ChannelReading("p/1", 50.0, float(n)))
    assert scraped_site(site).value("pullcall_inbox_dropped_readings_total") == 100


def test_readings_that_are_left_out_of_the_log_are_counted(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pullcall.site.backlog.THINNED_FROM", 0)
    cook = site.cook.setup.cook
    readings = [Entry(cook, Reading(float(t), None, 50.0, "p/1")) for t in range(7)]
    site.measures.ledger.keep_now(readings)
    assert scraped_site(site).value("pullcall_log_dropped_readings_total") == 5


def test_what_is_announced_again_because_nobody_heard_is_counted(site: Site) -> None:
    call = Call(1.0, "1", (), CallKind.UNHEARD, None, 1, "Nobody is hearing this.")
    again = site.desk.on_unheard
    assert again is not None
    again((call, replace(call, id="2")))
    assert scraped_site(site).value("pullcall_unheard_calls_total") == 2


def test_an_error_of_the_forecast_is_told_by_steak_and_lead(site: Site) -> None:
    for t in range(203):
        left_s = 200.5 - t
        pull = Quantiles(max(left_s - 2.0, 0.0), max(left_s + 3.0, 0.0), max(left_s + 5.0, 0.0))
        core_c = round(54.0 - left_s / 10.0, 3)
        told = Forecast(float(t), ODD, pull, None, core_c=core_c, pull_c=54.0)
        site.measures.forecasts.follow(None, [told])
    exposed = scraped_site(site)
    errors = exposed.samples("pullcall_forecast_error_seconds")
    by_lead = {dict(found)["lead"]: round(error, 2) for found, error in errors.items()}
    assert by_lead == dict.fromkeys(("120", "60", "40", "20"), 3.0)
    assert set(labels(errors, "steak")) == {ODD}
    for name in ("judged", "inside_band"):
        assert set(exposed.samples(f"pullcall_forecasts_{name}_total").values()) == {1}
