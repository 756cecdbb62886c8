"""What a site tells its pages of a simulated cook, and messages like it: for tests of the bus."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from typing import Any

from pullcall.core.cook import Cook
from pullcall.hindsight.study import steps
from pullcall.log.records import to_line
from pullcall.plan.wall import wall_time
from pullcall.site.hub import Stream
from pullcall.site.view import View
from tests.recorded import short_cook

Json = dict[str, Any]
PROBE: Json = {
    "channel": "thin-1/0", "device": "thin-1", "name": "left steak", "standard": "cookware",
    "state": "streaming", "celsius": 41.5, "battery_percent": 80, "rssi_dbm": -60, "age_s": 0.4,
    "attempts": 1, "refused": 0, "note": "", "steak": "left", "is_grate": False,
}  # fmt: skip
AROUND: Json = {
    "readiness": [{"name": "heard", "ok": True, "words": "Calls are heard", "celsius": None}],
    "outlets": [{"name": "loudspeaker", "kind": "loudspeaker", "state": "ok", "note": ""}],
}
CALL: Json = {
    "type": "call", "id": "c1", "t": 100.0, "steaks": ["left"], "call": "pull_now", "in_s": None,
    "priority": 1, "text": "Left: pull now", "insistent": False, "state": "unacknowledged",
    "clip": None,
}  # fmt: skip


class Told(Stream):
    """Follows a cook; ``messages`` are what pages were sent so far, and the clock's ticks."""

    def __init__(self, cook: Cook) -> None:
        super().__init__()
        self.view = View(cook, self)
        self.messages: list[Json] = [snapshot_of(self.view, 0.0)]

    def publish(self, type: str, body: Mapping[str, Any]) -> None:
        message: Json = json.loads(to_line({"type": type, "seq": len(self.messages), **body}))
        self.messages.append(message)


def snapshot_of(view: View, t: float, /, **other: object) -> Json:
    """Everything that a site would say of a cook at ``t``."""
    site = {
        "type": "snapshot", "epoch": "e", "seq": 1, "wall": wall_time(view.cook.header, t),
        "speed": 1, "mode": "demo", "unit": "F", "ends_t": None, "banner": None,
        "probes": [PROBE], "adapter": None,
    }  # fmt: skip
    whole: Json = json.loads(to_line({**site, **AROUND, **view.snapshot(t), **other}))
    return whole


@cache
def whole_cook() -> tuple[tuple[Json, ...], tuple[Json, ...]]:
    """All that pages get of the short cook, and what a newcomer would get at 0, 60 s and so on."""
    recorded = short_cook()
    told = Told(Cook(recorded.header))
    whole = [told.messages[0]]
    for event, effects, t in steps(told.view.cook, recorded.inputs):
        if event is None:
            told.publish("tick", {"t": t})
        else:
            told.view.show_input(event)
        told.view.show_effects(effects, t)
        if t >= 60.0 * len(whole):
            whole.append(snapshot_of(told.view, t))
            told.publish("newcomer", {"t": t})
    told.publish("tick", {"t": t})
    whole.append(snapshot_of(told.view, t))
    return tuple(told.messages), tuple(whole)
