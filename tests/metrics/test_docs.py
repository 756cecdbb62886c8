"""The tables of docs/metrics.md and what a scrape tells are the same."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from prometheus_client.metrics_core import Metric

from tests.metrics.exposed import Exposed
from tests.metrics.rules import selectors
from tests.metrics.simulated import board_with_sites, simulated_site
from tests.metrics.test_config import ALERTS

TEXT = (Path(__file__).parents[2] / "docs" / "metrics.md").read_text()
_ROW = re.compile(r"^\| `(\w+)` \| (\w+) \| (\w*) *\| ([\w, ]*?) *\| (.+) \|$", re.MULTILINE)
#: Labels that the format adds by itself.
_OF_FORMAT = {"le"}


def table(heading: str) -> dict[str, tuple[str, str, set[str]]]:
    """Type, unit and labels of each metric below a heading."""
    part = TEXT.split(f"\n## {heading}\n")[1].split("\n## ")[0]
    rows = [
        (name, type, unit, set(labels.split(", "))) for name, type, unit, labels, _ in _rows(part)
    ]
    return {name: (type, unit, labels - {""}) for name, type, unit, labels in rows}


def _rows(part: str) -> list[tuple[str, str, str, str, str]]:
    return _ROW.findall(part)


def told(families: Mapping[str, Metric]) -> dict[str, tuple[str, str]]:
    return {name: (family.type, family.unit) for name, family in families.items()}


@pytest.mark.parametrize(
    ("heading", "exposed"),
    [("A site", lambda: simulated_site().exposed), ("A board", board_with_sites)],
)
def test_every_metric_is_in_the_table_with_its_type_and_unit(
    heading: str, exposed: Callable[[], Exposed]
) -> None:
    documented = {name: (type, unit) for name, (type, unit, _) in table(heading).items()}
    assert documented == told(exposed().families)


def test_the_labels_are_those_of_the_table() -> None:
    for heading, exposed in (("A site", simulated_site().exposed), ("A board", board_with_sites())):
        for name, (_, _, labels) in table(heading).items():
            for sample in exposed.families[name].samples:
                assert set(sample.labels) - _OF_FORMAT - {name} == labels


def test_no_row_is_written_so_that_no_test_reads_it() -> None:
    assert len(_rows(TEXT)) == TEXT.count("\n| `pullcall_")


def test_every_metric_of_an_alert_is_documented() -> None:
    for rule in ALERTS.values():
        names = {selector.name or "" for selector in selectors(rule["expr"])} - {"up"}
        plain = {re.sub("_(total|info|bucket|count|sum)$", "", name) for name in names}
        assert plain <= {name for name, *_ in _rows(TEXT)}
