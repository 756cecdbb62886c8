"""Write a simulated cook as JSON Lines, as fast as it can be computed."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from pullcall.events import CookHeader, Mark, Reading, SteakSettings
from pullcall.simulators.kitchen import Event, Kitchen
from pullcall.simulators.scenario import Scenario, names, scenario


def records(cook: Scenario) -> Iterator[dict[str, object]]:
    """Yield a whole cook's records, the header first, readings assigned to their steaks."""
    yield _header(cook.header())
    steaks = {scene.channel: scene.steak for scene in cook.steaks if scene.probe}
    for event in Kitchen(cook).advance(cook.lasts_s):
        yield _record(event, steaks)


def lines(cook: Scenario) -> Iterator[str]:
    """Yield the same as lines of JSON."""
    for record in records(cook):
        yield json.dumps(record, separators=(",", ":"), ensure_ascii=False)


def _header(header: CookHeader) -> dict[str, object]:
    return {
        "record": "cook",
        "version": 1,
        "cook": header.cook,
        "started": header.started,
        "simulated": header.simulated,
        "steaks": [_steak(steak) for steak in header.steaks],
        "rest_on": header.rest_on,
        "plan": [{"t": step.t, "mark": step.mark} for step in header.plan],
    }


def _steak(steak: SteakSettings) -> dict[str, object]:
    known = {
        "steak": steak.steak,
        "thickness_mm": steak.thickness_mm,
        "start_c": steak.start_c,
        "pull_c": steak.pull_c,
        "target_c": steak.target_c,
    }
    return {key: value for key, value in known.items() if value is not None}


def _record(event: Event, steaks: dict[str | None, str]) -> dict[str, object]:
    if isinstance(event, Mark):
        return {"record": "mark", "t": event.t, "steak": event.steak, "mark": event.mark}
    if isinstance(event, Reading):
        steak = steaks[event.channel]
        return {"record": "reading", "t": event.t, "steak": steak, "celsius": event.celsius}
    return {"record": "spot", "t": event.t, "steak": event.steak, "celsius": event.celsius}


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line."""
    parser = argparse.ArgumentParser(
        prog="python -m pullcall.simulators.scenario",
        description="Write a whole simulated cook as JSON Lines.",
    )
    parser.add_argument("name", choices=names(), help="the scenario")
    parser.add_argument("--seed", type=int, default=1, help="another seed, another cook")
    parser.add_argument("-o", "--output", default="-", help="the file; - is standard output")
    asked = parser.parse_args(argv)
    text = "".join(f"{line}\n" for line in lines(scenario(asked.name, asked.seed)))
    if asked.output == "-":
        sys.stdout.write(text)
        return 0
    try:
        Path(asked.output).write_text(text, encoding="utf-8")
    except OSError as trouble:
        reason = trouble.strerror or trouble
        print(
            f"Cannot write {asked.output} ({reason}); name a file in a folder you may write to.",
            file=sys.stderr,
        )
        return 1
    return 0
