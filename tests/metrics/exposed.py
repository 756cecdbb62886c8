"""What a scrape tells, read by the parser of the client library.

``prometheus_client.openmetrics.parser`` is written from the OpenMetrics 1.0 text, and refuses what
that forbids (names, units, order, an end that is missing).
"""

from __future__ import annotations

from collections.abc import Mapping

from prometheus_client.metrics_core import Metric
from prometheus_client.openmetrics.parser import text_string_to_metric_families


class Exposed:
    """The families of one scrape."""

    def __init__(self, text: str) -> None:
        self.families: dict[str, Metric] = {}
        for family in text_string_to_metric_families(text):  # type: ignore[no-untyped-call]
            assert family.name not in self.families, f"{family.name} comes twice"
            self.families[family.name] = family

    def samples(self, name: str) -> dict[tuple[tuple[str, str], ...], float]:
        """The values of one sample name, by their labels."""
        found = (sample for family in self.families.values() for sample in family.samples)
        return {tuple(sorted(s.labels.items())): s.value for s in found if s.name == name}

    def value(self, name: str, labels: Mapping[str, str] | None = None) -> float:
        """The one value of a sample; KeyError where there is none."""
        return self.samples(name)[tuple(sorted((labels or {}).items()))]
