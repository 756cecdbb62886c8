"""What a site measured, as metric families. docs/metrics.md says what each is good for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Protocol

from prometheus_client.core import (
    CounterMetricFamily,
    GaugeMetricFamily,
    HistogramMetricFamily,
    InfoMetricFamily,
    Metric,
    StateSetMetricFamily,
)
from prometheus_client.registry import Collector

from pullcall.bus.status import BusStatus
from pullcall.core.cook import Cook
from pullcall.core.phase import Phase
from pullcall.metrics.bridge import bridge_families
from pullcall.metrics.exposition import buckets, histogram_family
from pullcall.metrics.measures import Measures
from pullcall.metrics.streams import streams_family
from pullcall.outlets.desk import Desk
from pullcall.site.options import SiteOptions
from pullcall.sources.sink import ProbeStatus

#: Channels and devices told of: a hall full of strangers' probes must not fill a server's disk.
MOST_CHANNELS = 64
#: Phases in which a forecast is told each second.
_FORECAST_IN = frozenset({Phase.ON, Phase.RESTING, Phase.BOXED})


class Bridged(Protocol):
    """A way to the broker."""

    def status(self) -> BusStatus:
        """How it is."""


class MeasuredSite(Protocol):
    """What is read of a live site."""

    desk: Desk
    measures: Measures
    options: SiteOptions

    @property
    def bridge(self) -> Bridged | None:
        """Its way to the broker; None where it has none."""

    @property
    def cook(self) -> Cook:
        """The running cook."""

    def now(self) -> float:
        """Seconds since the cook's zero."""


class SiteCollector(Collector):
    """Reads a site at a scrape, on the site's own event loop; ``streams()`` counts the open
    streams of pages by transport."""

    def __init__(self, site: MeasuredSite, streams: Callable[[], Mapping[str, int]]) -> None:
        self._site = site
        self._measures = site.measures
        self._streams = streams

    def collect(self) -> Iterable[Metric]:
        """Every family; one that has nothing to tell is empty."""
        yield from self._cook()
        yield from self._probes()
        yield from self._forecasts()
        yield from self._calls()
        yield from self._clients()
        yield from self._queues()
        yield from self._loop()
        if self._site.bridge is not None:
            yield from bridge_families(self._site.bridge.status())

    def _cook(self) -> Iterator[Metric]:
        cook = self._site.cook
        simulated = str(cook.setup.simulated).lower()
        info = {"mode": self._site.options.mode, "simulated": simulated}
        yield InfoMetricFamily("pullcall_cook", "What kind of cook runs.", info)
        text = "The phase that each steak is in."
        phases = StateSetMetricFamily("pullcall_steak_phase", text, labels=["steak"])
        for name, steak in cook.steaks.items():
            phases.add_metric([name], {str(phase): steak.phase is phase for phase in Phase})
        yield phases

    def _probes(self) -> Iterator[Metric]:
        heard = self._measures.probes()
        text = "How many channels of probes were heard."
        yield GaugeMetricFamily("pullcall_probes", text, len(heard))
        told = self._told_of(heard)
        labels = ["channel", "steak"]
        text = "How long ago the last good value of a channel came."
        age = GaugeMetricFamily("pullcall_probe_age", text, labels=labels, unit="seconds")
        text = "How full the battery of a channel's probe is."
        battery = GaugeMetricFamily("pullcall_probe_battery", text, labels=labels, unit="ratio")
        for probe, steak in told:
            if probe.age_s is not None:
                age.add_metric([probe.channel, steak], probe.age_s)
            if probe.battery_percent is not None:
                battery.add_metric([probe.channel, steak], probe.battery_percent / 100)
        yield from (age, battery)
        yield from self._links({probe.device: probe.refused for probe, _ in told})

    def _told_of(self, heard: Sequence[ProbeStatus]) -> list[tuple[ProbeStatus, str]]:
        """The channels that are told of, each with its steak: the cook's own go first."""
        cook = self._site.cook
        steaks = {s.settings.channel: name for name, s in cook.steaks.items()}
        own = {*steaks, cook.setup.fire.channel}
        first = sorted(heard, key=lambda probe: probe.channel not in own)
        return [(probe, steaks.get(probe.channel, "")) for probe in first[:MOST_CHANNELS]]

    def _links(self, refused_by: Mapping[str, int]) -> Iterator[Metric]:
        """Of the devices whose channels are told of, with their refused packets."""
        text = "Connects to a device that were tried."
        connects = CounterMetricFamily("pullcall_probe_connects", text, labels=["device"])
        text = "How often the link to a device stood again after it had been lost."
        reconnects = CounterMetricFamily("pullcall_probe_reconnects", text, labels=["device"])
        for link in self._measures.links():
            if link.device in refused_by:
                connects.add_metric([link.device], link.connects)
                reconnects.add_metric([link.device], link.reconnects)
        text = "Packets of a device that could not be read."
        refused = CounterMetricFamily("pullcall_probe_refused_packets", text, labels=["device"])
        for device, count in refused_by.items():
            refused.add_metric([device], count)
        yield from (connects, reconnects, refused)

    def _forecasts(self) -> Iterator[Metric]:
        text = "How long ago the forecast of a steak was made."
        age = GaugeMetricFamily("pullcall_forecast_age", text, labels=["steak"], unit="seconds")
        cook, now = self._site.cook, self._site.now()
        for name, forecast in cook.forecasts.items():
            if cook.steaks[name].phase in _FORECAST_IN:
                age.add_metric([name], max(0.0, self._measures.real_s(now - forecast.t)))
        yield age
        text = "How much later than it came a pull was forecast, by the seconds left then."
        labels = ["steak", "lead"]
        error = GaugeMetricFamily("pullcall_forecast_error", text, labels=labels, unit="seconds")
        for name, score in self._measures.forecasts.errors():
            error.add_metric([name, _lead(score.lead_s)], score.error_s)
        yield error
        yield from self._bands()

    def _bands(self) -> Iterator[Metric]:
        forecasts = self._measures.forecasts
        text = "Forecasts of a pull that were held against its crossing."
        judged = CounterMetricFamily("pullcall_forecasts_judged", text, labels=["lead"])
        text = "Forecasts of a pull whose band from p10 to p90 held its crossing."
        inside = CounterMetricFamily("pullcall_forecasts_inside_band", text, labels=["lead"])
        for lead_s, count in forecasts.judged.items():
            judged.add_metric([_lead(lead_s)], count)
            inside.add_metric([_lead(lead_s)], forecasts.inside[lead_s])
        yield from (judged, inside)

    def _calls(self) -> Iterator[Metric]:
        calls = self._measures.calls
        text = "Announcements of calls and alarms, each repeat of an alarm included."
        counts = CounterMetricFamily("pullcall_calls", text, labels=["call"])
        for kind, count in calls.counts.items():
            counts.add_metric([str(kind)], count)
        yield counts
        text = "Announcements that nobody was heard to sound in time, and that were made again."
        yield CounterMetricFamily("pullcall_unheard_calls", text, calls.unheard)
        text = "From the moment a call was due until it was handed to the outlets."
        yield histogram_family("pullcall_call_announcement_delay", text, calls.announced)
        text = "From the moment a call was due until an outlet was first heard to sound it."
        name = "pullcall_call_receipt_delay"
        heard = HistogramMetricFamily(name, text, labels=["outlet"], unit="seconds")
        for outlet, histogram in calls.heard.items():
            heard.add_metric([str(outlet)], buckets(histogram), histogram.total)
        yield heard

    def _clients(self) -> Iterator[Metric]:
        yield streams_family(self._streams())
        phones, now = self._site.desk.phones, self._measures.life.monotonic()
        text = "Phones whose page is open."
        yield GaugeMetricFamily("pullcall_phones_here", text, phones.here_count(now))
        text = "Phones whose page is open and sounds calls."
        yield GaugeMetricFamily("pullcall_phones_armed", text, phones.armed_count(now))

    def _queues(self) -> Iterator[Metric]:
        inbox, ledger = self._measures.inbox, self._measures.ledger
        text = "Readings that were dropped because the cook did not keep up with them."
        yield CounterMetricFamily("pullcall_inbox_dropped_readings", text, inbox.dropped)
        text = "Entries of the log that are not known to be on disk."
        yield GaugeMetricFamily("pullcall_log_waiting_entries", text, ledger.waiting)
        text = "Commits of the log that failed and are tried again."
        yield CounterMetricFamily("pullcall_log_failed_commits", text, ledger.failures)
        text = "Readings that were left out of the log because too much waited for the disk."
        yield CounterMetricFamily("pullcall_log_dropped_readings", text, ledger.dropped)
        text = "How long a commit of the log took."
        yield histogram_family("pullcall_log_commit", text, ledger.commits)

    def _loop(self) -> Iterator[Metric]:
        beats, now = self._measures.beats, self._measures.life.monotonic()
        text = "Rounds of the loop that makes the calls."
        yield CounterMetricFamily("pullcall_call_loop_beats", text, beats.count)
        text = "How long ago the loop that makes the calls went round."
        yield GaugeMetricFamily(
            "pullcall_call_loop_beat_age", text, beats.age_s(now), unit="seconds"
        )
        text = "The longest that the loop that makes the calls stood still in the last minutes."
        gap_s = beats.longest_gap_s(now)
        yield GaugeMetricFamily("pullcall_call_loop_longest_gap", text, gap_s, unit="seconds")


def _lead(seconds: float) -> str:
    return f"{seconds:g}"
