"""The calls of a cook under faults in any order, on a virtual clock.

Readings are lost, late and wrong; nobody hears, the disk fails, the clock jumps; the daemon is
started again; the cook marks, undoes, answers twice and puts aside. Whatever the order, some
things always hold.
"""

from __future__ import annotations

import json
from dataclasses import replace

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule

from pullcall.calls.alarm import CallState, StateChange
from pullcall.calls.rules import OVER_C, URGENT_GAP_S, VOICE_GAP_S
from pullcall.core.cook import Cook, Effect
from pullcall.core.steak import Phase
from pullcall.errors import RefusedError
from pullcall.events import (
    Acknowledgement,
    Call,
    CallKind,
    Condition,
    CookHeader,
    Fault,
    Input,
    Mark,
    MarkKind,
    PlannedMark,
    Reading,
    Restart,
    Setting,
    Shelving,
    Spot,
    SteakSettings,
    Undo,
)
from pullcall.log.call_records import call_record
from pullcall.log.records import input_record, parse_input, to_line

STEAKS = st.sampled_from(["left", "right"])
PULLS = {CallKind.PULL_SOON, CallKind.PULL_HOLD, CallKind.PULL_NOW, CallKind.OVER}
#: A short cook: the pull comes a minute or two after on, so that every kind of call is reached.
HEADER = CookHeader(
    "machine",
    "2026-06-13T13:40:00+00:00",
    steaks=(
        SteakSettings("left", pull_c=54.0, start_c=40.0, channel="left/1"),
        SteakSettings("right", pull_c=54.0, start_c=42.0, channel="right/1"),
    ),
    plan=(PlannedMark(20.0, MarkKind.TURN), PlannedMark(45.0, MarkKind.FLIP)),
)
START_C = {"left": 46.0, "right": 47.0}
RISE_C_PER_S = 0.15
#: An alarm to act on in seconds is silent for at most this long, seconds.
SILENT_S = 5.0


class Calls(RuleBasedStateMachine):
    """One cook of two steaks. ``inputs`` is its log, ``calls`` what was announced."""

    def __init__(self) -> None:
        super().__init__()
        self.cook = Cook(HEADER)
        self.inputs: list[Input] = []
        self.calls: list[Call] = []
        self.now = 0.0
        self.silent: set[str] = set()
        self.offset = {"left": 0.0, "right": 0.0}
        self.off_ids: dict[str, str] = {}
        self.on_t: dict[str, float] = {}
        self.made = 0

    # What happens

    @initialize(both=st.booleans())
    def begin(self, both: bool) -> None:
        self.let_pass(2)
        self.mark(MarkKind.ON, "left")
        if both:
            self.mark(MarkKind.ON, "right")

    @rule(seconds=st.integers(5, 40))
    def a_while_passes(self, seconds: int) -> None:
        self.let_pass(seconds)

    @rule(seconds=st.integers(10, 60))
    def a_longer_while_passes(self, seconds: int) -> None:
        self.let_pass(seconds)

    def let_pass(self, seconds: int) -> None:
        for _ in range(seconds):
            for steak in ("left", "right"):
                if steak not in self.silent:
                    self.take(Reading(self.now + 0.4, steak, self.core(steak), f"{steak}/1"))
            self.now += 1.0
            self.announce(self.cook.advance(self.now))
            self.check_second()

    @rule(steak=STEAKS)
    def a_probe_falls_silent_or_speaks_again(self, steak: str) -> None:
        self.silent ^= {steak}

    @rule(steak=STEAKS, by=st.sampled_from([-8.0, -2.5, 3.5]))
    def a_probe_slips(self, steak: str, by: float) -> None:
        self.offset[steak] += by

    @rule(steak=STEAKS, celsius=st.sampled_from([-50.0, 3.0, 99.0, 900.0]))
    def a_reading_is_wrong(self, steak: str, celsius: float) -> None:
        self.take(Reading(self.now, steak, celsius, f"{steak}/1"))

    @rule(steak=STEAKS, late=st.floats(0.5, 20.0))
    def a_reading_is_late(self, steak: str, late: float) -> None:
        self.take(Reading(self.now - late, steak, self.core(steak), f"{steak}/1"))

    @rule(steak=STEAKS, kind=st.sampled_from(list(MarkKind)), ago=st.sampled_from([0.0, 8.0]))
    def something_is_marked(self, kind: MarkKind, steak: str, ago: float) -> None:
        self.mark(kind, steak, ago)

    def mark(self, kind: MarkKind, steak: str, ago: float = 0.0) -> None:
        self.made += 1
        at = self.now - ago if ago else None
        taken = self.take(Mark(self.now, steak, kind, f"m{self.made}", at))
        if taken and kind is MarkKind.ON:
            self.on_t[steak] = self.now
        if taken and kind is MarkKind.OFF:
            self.off_ids[steak] = f"m{self.made}"

    @rule()
    def the_last_mark_is_undone(self) -> None:
        self.take(Undo(self.now, f"m{self.made}"))

    @rule(steak=STEAKS, off_by=st.floats(-3.0, 3.0))
    def a_spot_is_tapped_in(self, steak: str, off_by: float) -> None:
        self.made += 1
        self.take(Spot(self.now, steak, self.core(steak) + off_by, f"m{self.made}"))

    @rule(steak=STEAKS, shift=st.sampled_from([-1.0, 0.0, 2.0]))
    def a_pull_is_shifted(self, steak: str, shift: float) -> None:
        self.take(Setting(self.now, steak, "shift_c", shift))

    @rule(hour=st.integers(10, 16))
    def the_clock_on_the_wall_is_set(self, hour: int) -> None:
        self.take(Setting(self.now, None, "started", f"2026-06-13T{hour}:40:00+00:00"))

    @rule(active=st.booleans())
    def somebody_hears_or_nobody(self, active: bool) -> None:
        self.take(Condition(self.now, Fault.UNHEARD, active))

    @rule(steak=STEAKS)
    def a_steak_comes_off(self, steak: str) -> None:
        self.mark(MarkKind.OFF, steak)

    @rule(steak=STEAKS)
    def a_steak_that_was_off_by_mistake_is_on_again(self, steak: str) -> None:
        self.take(Undo(self.now, self.off_ids.pop(steak, "m0")))

    @rule(fault=st.sampled_from(list(Fault)), active=st.booleans())
    def the_surroundings_fail_or_recover(self, fault: Fault, active: bool) -> None:
        self.take(Condition(self.now, fault, active))

    @precondition(lambda self: self.calls)
    @rule(back=st.integers(1, 6), twice=st.booleans())
    def somebody_answers(self, back: int, twice: bool) -> None:
        call = self.calls[-min(back, len(self.calls))]
        for _ in range(1 + twice):
            self.take(Acknowledgement(self.now, call.id, "phone"))

    @precondition(lambda self: self.calls)
    @rule(back=st.integers(1, 6))
    def somebody_puts_it_aside(self, back: int) -> None:
        call = self.calls[-min(back, len(self.calls))]
        self.take(Shelving(self.now, call.id, "phone", 60.0))

    @rule()
    def the_daemon_is_started_again(self) -> None:
        lines = [to_line(input_record(event)) for event in self.inputs]
        self.cook, told = Cook(HEADER), list[Effect]()
        for line in lines:
            event = parse_input(json.loads(line))
            assert event is not None
            told += self.cook.apply(event)
        told += self.cook.advance(self.now)
        again = [to_line(call_record(call)) for call in told if isinstance(call, Call)]
        assert again == [to_line(call_record(call)) for call in self.calls]
        self.take(Restart(self.now))
        waiting = {a.id for a in self.cook.live_alarms() if a.state is CallState.UNACKNOWLEDGED}
        before = len(self.calls)
        self.let_pass(2)
        still = {a.id for a in self.cook.live_alarms() if a.state is CallState.UNACKNOWLEDGED}
        urgent = {a.id for a in self.cook.live_alarms() if a.cause.priority == 1}
        assert waiting & still & urgent <= {call.id for call in self.calls[before:]}

    # What always holds

    def check_second(self) -> None:
        for alarm in self.cook.live_alarms():
            if alarm.cause.priority == 1 and alarm.state is CallState.UNACKNOWLEDGED:
                assert self.now - alarm.sounded_t <= SILENT_S, alarm

    def announce(self, effects: list[Effect]) -> None:
        for effect in effects:
            if isinstance(effect, StateChange):
                self.check_change(effect)
        burst = [effect for effect in effects if isinstance(effect, Call)]
        if burst:
            self.check_burst(burst)
        self.calls += burst

    def check_change(self, change: StateChange) -> None:
        """Now is never taken back from a steak whose probe speaks."""
        said = next((c for c in reversed(self.calls) if c.id == change.id), None)
        if said is None or said.call is not CallKind.PULL_NOW:
            return
        if change.state is CallState.CLEARED:
            steak = self.cook.steaks[said.steaks[0]]
            forecast = self.cook.forecasts[steak.name]
            assert forecast.core_c is not None and forecast.pull_c is not None
            is_over = forecast.core_c >= forecast.pull_c + OVER_C
            assert steak.phase is not Phase.ON or is_over or steak.last_reading is None

    def check_burst(self, burst: list[Call]) -> None:
        assert len({call.t for call in burst}) == 1, "calls come second by second"
        priorities = [call.priority for call in burst]
        assert priorities == sorted(priorities)
        assert sum(priority > 1 for priority in priorities) <= 1
        assert len({call.id for call in burst}) == len(burst)
        if self.calls:
            gap = burst[0].t - self.calls[-1].t
            before = min(c.priority for c in self.calls if c.t == self.calls[-1].t)
            cuts_in = priorities[0] == 1 and before > 1
            least = URGENT_GAP_S if priorities[0] == 1 else VOICE_GAP_S
            assert gap >= (1.0 if cuts_in else least)
        for call in burst:
            assert set(call.steaks) <= set(self.cook.steaks)
            if call.call in PULLS:
                assert self.cook.steaks[call.steaks[0]].phase is Phase.ON, call

    # How it is done

    def core(self, steak: str) -> float:
        gone = self.now - self.on_t[steak] if steak in self.on_t else 0.0
        return round(START_C[steak] + RISE_C_PER_S * gone + self.offset[steak], 2)

    def take(self, event: Input) -> bool:
        """Stamp, check, log and apply an input, as a live site does."""
        event = replace(event, t=self.cook.stamp(event.t))
        try:
            self.cook.check(event)
        except RefusedError:
            return False
        self.inputs.append(event)
        self.announce(self.cook.apply(event))
        self.now = max(self.now, event.t)
        return True


TestCalls = Calls.TestCase
TestCalls.settings = settings(
    max_examples=40,
    stateful_step_count=30,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
