"""A registry of one's own, and its text in the format that was asked for."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from importlib.metadata import version

from prometheus_client import CollectorRegistry, exposition
from prometheus_client.core import HistogramMetricFamily, InfoMetricFamily, Metric
from prometheus_client.openmetrics import exposition as openmetrics
from prometheus_client.registry import Collector

from pullcall.metrics.histogram import Histogram

_OPEN, _PLAIN, _ANY = "application/openmetrics-text", "text/plain", "*/*"
_WEIGHT = re.compile(r"[01](\.[0-9]{0,3})?")
OPENMETRICS_TYPE = f"{_OPEN}; version=1.0.0; charset=utf-8"
PLAIN_TYPE = f"{_PLAIN}; version=0.0.4; charset=utf-8"


@dataclass(frozen=True, slots=True)
class Exposition:
    """Everything that was measured, as text, with its media type."""

    body: bytes
    media_type: str


def registry_of(*collectors: Collector) -> CollectorRegistry:
    """A registry that nobody shares, with the version of this program besides."""
    registry = CollectorRegistry(auto_describe=False)
    for collector in (_Build(), *collectors):
        registry.register(collector)
    return registry


def expose(registry: CollectorRegistry, accept: str) -> Exposition:
    """OpenMetrics 1.0, or the plain text format for whoever asks (``accept``) rather for that."""
    if _weight(accept, _PLAIN) > _weight(accept, _OPEN):
        return Exposition(exposition.generate_latest(registry), PLAIN_TYPE)
    return Exposition(openmetrics.generate_latest(registry), OPENMETRICS_TYPE)  # type: ignore[no-untyped-call]


def buckets(histogram: Histogram) -> list[tuple[str, float]]:
    """A histogram's buckets as a family takes them."""
    limits = ((str(limit), count) for limit, count in histogram.buckets())
    return [("+Inf" if limit == "inf" else limit, count) for limit, count in limits]


def histogram_family(name: str, text: str, histogram: Histogram) -> HistogramMetricFamily:
    """A histogram of seconds without labels."""
    family = HistogramMetricFamily(name, text, unit="seconds")
    family.add_metric([], buckets(histogram), histogram.total)
    return family


class _Build(Collector):
    def collect(self) -> Iterable[Metric]:
        text = "The version of Pullcall that runs."
        yield InfoMetricFamily("pullcall_build", text, {"version": version("pullcall")})


def _weight(accept: str, media_type: str) -> float:
    """How much a type is wanted, 0 to 1, by the most exact range that names it (RFC 9110, 12.5.1).

    Parameters but the weight do not matter: a reader of one version reads the other.
    """
    wanted: dict[str, float] = {}
    for range_, weight in _ranges(accept or _ANY):
        wanted[range_] = max(weight, wanted.get(range_, 0.0))
    exact_first = (media_type, f"{media_type.split('/')[0]}/*", _ANY)
    return next((wanted[range_] for range_ in exact_first if range_ in wanted), 0.0)


def _ranges(accept: str) -> Iterator[tuple[str, float]]:
    for part in accept.split(","):
        range_, *parameters = (piece.strip().lower() for piece in part.split(";"))
        weights = [piece.removeprefix("q=") for piece in parameters if piece.startswith("q=")]
        yield range_, _number(weights[0]) if weights else 1.0


def _number(text: str) -> float:
    """A weight; nonsense is no wish."""
    return min(float(text), 1.0) if _WEIGHT.fullmatch(text) else 0.0
