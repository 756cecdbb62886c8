"""What lies in config/metrics/ fits what a scrape tells, and every alert fires when it should."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import promql_parser as promql
import pytest
from ruamel.yaml import YAML

from pullcall.settings import Settings
from tests.metrics.rules import Evaluation, Scrape, selectors
from tests.metrics.simulated import board_with_sites, simulated_site

FOLDER = Path(__file__).parents[2] / "config" / "metrics"
CONFIG: dict[str, Any] = YAML(typ="safe").load(FOLDER / "prometheus.yml")
RULES: dict[str, Any] = YAML(typ="safe").load(FOLDER / "rules.yml")
DASHBOARD: dict[str, Any] = json.loads((FOLDER / "dashboard.json").read_text())
ALERTS: dict[str, dict[str, Any]] = {
    rule["alert"]: rule for group in RULES["groups"] for rule in group["rules"]
}
QUERIES = [target["expr"] for panel in DASHBOARD["panels"] for target in panel["targets"]]
JOBS: dict[str, dict[str, Any]] = {job["job_name"]: job for job in CONFIG["scrape_configs"]}
#: What a scraper adds to what it scrapes; `up` is its own too.
ADDED = {"instance", "job", "site"}


def site() -> Scrape:
    """A site that is well; the loop's pace is not that of a test machine under load."""
    exposed = simulated_site().exposed
    found = Scrape.of(exposed, job="pullcall", instance="192.168.1.5:8317", site="north")
    calm = found.but("pullcall_call_loop_beat_age_seconds", 0.5)
    return calm.but("pullcall_call_loop_longest_gap_seconds", 1.01)


def board() -> Scrape:
    """A board that is well: its one site is here."""
    found = Scrape.of(board_with_sites(), job="pullcall-board", instance="192.168.1.9:8327")
    sites = {at: float(("state", "here") in at) for at in found.samples["pullcall_board_sites"]}
    well = Scrape({**found.samples, "pullcall_board_sites": sites})
    return well.but("pullcall_board_broker", 1.0, pullcall_board_broker="ok")


def plain(expression: str) -> str:
    """A query of the dashboard with every site chosen."""
    return expression.replace("$site", ".*")


# Names


@pytest.mark.parametrize(
    "expression", [*(rule["expr"] for rule in ALERTS.values()), *map(plain, QUERIES)]
)
def test_every_name_and_label_of_an_expression_is_in_a_scrape(expression: str) -> None:
    """The expression is parsed by promql-parser, which refuses what is none."""
    known = {**site().samples, **board().samples}
    families = {**simulated_site().exposed.families, **board_with_sites().families}
    empty = {f"{name}{'_total' if f.type == 'counter' else ''}" for name, f in families.items()}
    found = list(selectors(expression))
    assert found
    for selector in found:
        assert selector.name in known or selector.name in empty
        labels = {name for series in known.get(selector.name or "", {}) for name, _ in series}
        if labels:
            assert {m.name for m in selector.matchers.matchers} <= labels | ADDED


def test_the_parser_refuses_what_is_no_expression() -> None:
    with pytest.raises(ValueError, match="expected type matrix"):
        promql.parse("increase(pullcall_unheard_calls_total) > 0")


# Alerts

Fault = Callable[[], Evaluation]


def was(before: Scrape, now: Scrape) -> Evaluation:
    return Evaluation(before, now)


def set_to(start: Callable[[], Scrape], name: str, value: float, **where: str) -> Fault:
    return lambda: was(start(), start().but(name, value, **where))


def late_call() -> Evaluation:
    """One more call, above every limit of the histogram."""
    count = "pullcall_call_announcement_delay_seconds_count"
    return was(site(), site().but(count, 99.0))


def stuck_disk() -> Evaluation:
    """Entries wait, and nothing was committed since."""
    stuck = site().but("pullcall_log_waiting_entries", 12.0)
    return was(stuck, stuck)


def busy_disk() -> Evaluation:
    """Entries wait, while others are committed."""
    busy = site().but("pullcall_log_waiting_entries", 12.0)
    return was(busy, busy.but("pullcall_log_commit_seconds_count", 1e6))


def large_error(seconds: float, lead: str) -> Evaluation:
    now = site()
    labels = {"steak": "left", "lead": lead, "job": "pullcall", "instance": "a", "site": "north"}
    now.samples["pullcall_forecast_error_seconds"] = {frozenset(labels.items()): seconds}
    return was(site(), now)


def silent_probe_at_rest() -> Evaluation:
    """Pulled out as the steak came off."""
    rested = site().but("pullcall_steak_phase", 0.0, pullcall_steak_phase="on")
    return was(site(), rested.but("pullcall_probe_age_seconds", 300.0, steak="left"))


FAULTS: dict[str, Fault] = {
    "SiteUnreachable": set_to(site, "up", 0.0),
    "ProbeSilent": set_to(site, "pullcall_probe_age_seconds", 11.0, steak="right"),
    "BatteryLow": set_to(site, "pullcall_probe_battery_ratio", 0.1, steak="right"),
    "CallLoopStopped": set_to(site, "pullcall_call_loop_beat_age_seconds", 6.0),
    "CallLoopSlow": set_to(site, "pullcall_call_loop_longest_gap_seconds", 4.0),
    "CallsLate": late_call,
    "CallsUnheard": set_to(site, "pullcall_unheard_calls_total", 1.0),
    "LogNotCommitted": stuck_disk,
    "LogFailing": set_to(site, "pullcall_log_failed_commits_total", 1.0),
    "ReadingsNotLogged": set_to(site, "pullcall_log_dropped_readings_total", 1.0),
    "ReadingsDropped": set_to(site, "pullcall_inbox_dropped_readings_total", 1.0),
    "ForecastErrorLarge": lambda: large_error(-25.0, "40"),
    "BrokerOutOfReach": set_to(
        site, "pullcall_bridge_broker", 1.0, pullcall_bridge_broker="failing"
    ),
    "BridgeBehind": set_to(site, "pullcall_bridge_waiting_records", 1001.0),
    "BoardUnreachable": set_to(board, "up", 0.0),
    "BoardWithoutBroker": set_to(board, "pullcall_board_broker", 0.0, pullcall_board_broker="ok"),
    "SiteSilent": set_to(board, "pullcall_board_sites", 2.0, state="lost"),
    "BoardRefusesMessages": set_to(board, "pullcall_board_refused_messages_total", 9.0),
}


def test_every_alert_is_tried() -> None:
    assert set(FAULTS) == set(ALERTS)


@pytest.mark.parametrize("alert", FAULTS)
def test_an_alert_fires_for_its_fault(alert: str) -> None:
    assert FAULTS[alert]().of(ALERTS[alert]["expr"])


@pytest.mark.parametrize("alert", FAULTS)
def test_no_alert_fires_while_all_is_well(alert: str) -> None:
    for well in (site(), board()):
        assert was(well, well).of(ALERTS[alert]["expr"]) == {}


@pytest.mark.parametrize(
    ("alert", "fault"),
    [
        ("ProbeSilent", silent_probe_at_rest),
        ("LogNotCommitted", busy_disk),
        ("ForecastErrorLarge", lambda: large_error(15.0, "40")),
        ("ForecastErrorLarge", lambda: large_error(60.0, "120")),
        ("ProbeSilent", set_to(site, "pullcall_probe_age_seconds", 99.0, steak="")),
    ],
)
def test_an_alert_leaves_alone_what_is_none(alert: str, fault: Fault) -> None:
    assert fault().of(ALERTS[alert]["expr"]) == {}


@pytest.mark.parametrize("alert", ALERTS)
def test_an_alert_says_in_a_sentence_what_is_wrong_and_how_urgent_that_is(alert: str) -> None:
    rule = ALERTS[alert]
    assert rule["annotations"]["summary"].endswith(".")
    assert rule["labels"]["severity"] in ("critical", "warning")


# The scrape


@pytest.mark.parametrize("job", JOBS)
def test_a_job_scrapes_over_tls_with_a_token_of_a_file(job: str) -> None:
    found = JOBS[job]
    assert found["scheme"] == "https"
    assert found["follow_redirects"] is False
    assert found["authorization"]["credentials_file"] == "pullcall.token"
    assert "insecure_skip_verify" not in found["tls_config"]
    assert found["tls_config"]["ca_file"].endswith(".pem")


@pytest.mark.parametrize(("job", "page"), [("pullcall", "page"), ("pullcall-board", "board")])
def test_a_job_asks_at_the_port_that_is_usual(job: str, page: str) -> None:
    (target,) = JOBS[job]["static_configs"][0]["targets"]
    assert target.endswith(f":{getattr(Settings(), page).port}")


def test_the_rules_are_those_that_the_scrape_names() -> None:
    assert [FOLDER / name for name in CONFIG["rule_files"]] == [FOLDER / "rules.yml"]


# The dashboard


def places() -> Iterator[tuple[int, int]]:
    for panel in DASHBOARD["panels"]:
        at = panel["gridPos"]
        for x in range(at["x"], at["x"] + at["w"]):
            for y in range(at["y"], at["y"] + at["h"]):
                yield x, y


def test_panels_lie_beside_each_other_on_the_grid() -> None:
    """A grid of 24 columns, from memory."""
    taken = list(places())
    assert len(taken) == len(set(taken))
    assert all(0 <= x < 24 for x, _ in taken)


def test_every_panel_has_a_title_of_its_own_and_says_what_it_shows() -> None:
    panels = DASHBOARD["panels"]
    assert len({panel["title"] for panel in panels}) == len(panels)
    assert len({panel["id"] for panel in panels}) == len(panels)
    assert all(panel["description"].endswith(".") for panel in panels)


def test_every_variable_that_is_used_is_declared() -> None:
    declared = {variable["name"] for variable in DASHBOARD["templating"]["list"]}
    used = {panel["datasource"]["uid"].strip("${}") for panel in DASHBOARD["panels"]}
    assert used | {"site"} == declared
