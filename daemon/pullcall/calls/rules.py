"""Every figure that decides when something is called, in one place."""

from __future__ import annotations

from dataclasses import dataclass

from pullcall.events import CallKind

#: Seconds to go at which a pull is announced, first to last.
PULL_LEADS_S = (40.0, 20.0, 10.0)
#: A pull is only announced ahead while the p10-p90 band is not wider than this many leads: the
#: median is announced, and a wider band would make the number said a guess. The rise-rate
#: forecast has bands of 15 to 25 s at forty; a fixed 20 s would leave every second pull uncalled.
#: Without a probe there is no such limit: spots give wide bands and nothing better comes.
WIDEST_BAND_IN_LEADS = 1.0
#: ... and while the newest reading is not older than this, seconds.
FRESH_S = 3.0
#: "Pull now" when the forecast says this little is left, seconds.
NOW_S = 3.0
#: "Over" this far above the pull temperature, kelvin.
OVER_C = 1.7
#: A turn or flip is announced this long ahead, and again when due, seconds.
TURN_LEADS_S = (10.0, 0.0)
#: An act nobody tapped is called once more this long after it was due, seconds.
TURN_REMINDER_S = 8.0
#: The same act of two steaks due within this many seconds is called as one.
TWINS_S = 10.0
#: A probe is lost after this long, or this many of its usual intervals, whichever is longer.
LOST_S = 6.0
LOST_INTERVALS = 5.0
#: Good readings in a row that clear a lost probe.
GOOD_READINGS = 3
#: A pull due within this many seconds makes trouble with its probe urgent.
URGENT_S = 120.0


@dataclass(frozen=True, slots=True)
class AlarmRule:
    """How an alarm behaves: its priority and how often it sounds until answered, seconds."""

    call: CallKind
    priority: int
    repeat_s: float


ALARMS = {
    CallKind.PULL_NOW: AlarmRule(CallKind.PULL_NOW, priority=1, repeat_s=5.0),
    CallKind.OVER: AlarmRule(CallKind.OVER, priority=1, repeat_s=5.0),
    CallKind.PROBE_LOST: AlarmRule(CallKind.PROBE_LOST, priority=2, repeat_s=30.0),
}
#: A lost probe when the pull is near.
PROBE_LOST_URGENT = AlarmRule(CallKind.PROBE_LOST, priority=1, repeat_s=8.0)
CALL_PRIORITY = {CallKind.PULL_SOON: 1, CallKind.TURN: 2, CallKind.FLIP: 2}
