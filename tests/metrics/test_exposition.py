"""The format that is told, and that the client library's own parser reads it."""

from __future__ import annotations

from collections.abc import Iterable
from importlib.metadata import version

import pytest
from prometheus_client import REGISTRY, generate_latest
from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.registry import Collector

from pullcall.metrics.exposition import (
    OPENMETRICS_TYPE,
    PLAIN_TYPE,
    expose,
    histogram_family,
    registry_of,
)
from pullcall.metrics.histogram import Histogram
from tests.metrics.exposed import Exposed

LIMITS = ("0.005", "30.0", "+Inf")


@pytest.mark.parametrize(
    ("accept", "media_type"),
    [
        ("", OPENMETRICS_TYPE),
        ("*/*", OPENMETRICS_TYPE),
        ("application/openmetrics-text", OPENMETRICS_TYPE),
        ("application/openmetrics-text; version=1.0.0; charset=utf-8", OPENMETRICS_TYPE),
        ("text/plain", PLAIN_TYPE),
        ("text/plain;version=0.0.4;q=0.5,*/*;q=0.1", PLAIN_TYPE),
        ("TEXT/PLAIN ; Q=1", PLAIN_TYPE),
        ("text/*;q=0.4, application/*;q=0.3", PLAIN_TYPE),
        ("application/openmetrics-text;q=0, */*", PLAIN_TYPE),
        ("text/plain;q=0.1, */*", OPENMETRICS_TYPE),
        ("application/json", OPENMETRICS_TYPE),
        (";;q=,,text/plain;q=nonsense", OPENMETRICS_TYPE),
        # What a scraper sends that prefers OpenMetrics, and one told to prefer the plain text;
        # from memory of such requests.
        (
            "application/openmetrics-text;version=1.0.0;escaping=allow-utf-8;q=0.5,"
            "application/openmetrics-text;version=0.0.1;q=0.4,text/plain;version=1.0.0;q=0.3,"
            "text/plain;version=0.0.4;q=0.2,*/*;q=0.1",
            OPENMETRICS_TYPE,
        ),
        (
            "text/plain;version=0.0.4;q=0.5,application/openmetrics-text;version=1.0.0;q=0.4,"
            "application/openmetrics-text;version=0.0.1;q=0.3,*/*;q=0.1",
            PLAIN_TYPE,
        ),
    ],
)
def test_the_format_is_the_one_that_is_wanted_most(accept: str, media_type: str) -> None:
    told = expose(registry_of(), accept)
    assert told.media_type == media_type
    assert told.body.endswith(b"# EOF\n") == (media_type == OPENMETRICS_TYPE)


def test_a_registry_tells_the_version_and_nothing_of_the_process() -> None:
    exposed = Exposed(expose(registry_of(), "").body.decode())
    assert list(exposed.families) == ["pullcall_build"]
    labels = {"version": version("pullcall")}
    assert exposed.value("pullcall_build_info", labels) == 1


def test_registries_share_nothing() -> None:
    class One(Collector):
        def collect(self) -> Iterable[Metric]:
            yield GaugeMetricFamily("one", "Here only.", 1)

    assert b"one 1.0" in expose(registry_of(One()), "").body
    assert b"one 1.0" not in expose(registry_of(), "").body
    assert b"pullcall" not in generate_latest(REGISTRY)


def test_a_histogram_is_told_whole() -> None:
    histogram = Histogram((0.005, 30.0))
    for value in (0.001, 0.005, 0.006, 31.0):
        histogram.observe(value)

    class One(Collector):
        def collect(self) -> Iterable[Metric]:
            yield histogram_family("wait", "How long.", histogram)

    exposed = Exposed(expose(registry_of(One()), "").body.decode())
    told = {limit: exposed.value("wait_seconds_bucket", {"le": limit}) for limit in LIMITS}
    assert told == {"0.005": 2, "30.0": 3, "+Inf": 4}
    assert exposed.value("wait_seconds_count") == 4
    assert exposed.value("wait_seconds_sum") == pytest.approx(31.012)
    assert exposed.families["wait_seconds"].unit == "seconds"
