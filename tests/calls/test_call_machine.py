"""The calls of a cook under faults in any order, on a virtual clock.

Readings are lost, late and wrong; nobody hears, the disk fails, the clock jumps; the daemon is
started again; the cook marks, undoes, answers twice and puts aside. Whatever the order, some
things always hold. The figures here are the promises, not the rules they are checked against.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from dataclasses import replace

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule

from pullcall.calls.alarm import Alarm, CallState, StateChange
from pullcall.core.cook import Cook, Effect
from pullcall.core.phase import Phase
from pullcall.errors import PullcallError
from pullcall.events import (
    Acknowledgement,
    Call,
    CallKind,
    Condition,
    CookHeader,
    Fault,
    Forecast,
    Input,
    Lessons,
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
    Window,
)
from pullcall.log.call_records import call_record
from pullcall.log.records import input_record, parse_input, to_line

NAMES = ("left", "right")
STEAKS = st.sampled_from(NAMES)
PULLS = {CallKind.PULL_SOON, CallKind.PULL_HOLD, CallKind.PULL_NOW, CallKind.OVER}
NOW = {CallKind.PULL_NOW, CallKind.OVER}
PLANNED = {CallKind.TURN, CallKind.FLIP, CallKind.PULL_SOON, CallKind.PULL_HOLD}
#: A short cook, so that every kind of call is reached: the pull comes half a minute or a minute
#: after on, and the window is from one to four minutes after the cook's zero.
HEADER = CookHeader(
    "machine",
    "2026-06-13T13:40:00+00:00",
    steaks=(
        SteakSettings("left", pull_c=54.0, start_c=46.0, channel="left/1"),
        SteakSettings("right", pull_c=54.0, start_c=48.0, channel="right/1"),
    ),
    plan=(PlannedMark(20.0, MarkKind.TURN), PlannedMark(45.0, MarkKind.FLIP)),
    window=Window("2026-06-13T13:41:00+00:00", "2026-06-13T13:44:00+00:00"),
)
START_C = {"left": 46.0, "right": 48.0}
RISE_C_PER_S = 0.15
#: An alarm to act on in seconds is silent for at most this long, seconds.
SILENT_S = 5.0
#: Bursts lie this far apart, seconds: any, and one to act on in seconds behind another such.
GAP_S, URGENT_GAP_S = 4.0, 2.0
#: A spot is asked for at most so often until one comes.
MOST_ASKED = 2
#: After a restart what nobody answered is heard within this, seconds.
AGAIN_S = 2


class Calls(RuleBasedStateMachine):
    """One cook of two steaks. ``inputs`` is its log, ``calls`` what was announced."""

    header, rise = HEADER, RISE_C_PER_S

    def __init__(self) -> None:
        super().__init__()
        self.cook = Cook(self.header)
        self.inputs: list[Input] = []
        self.calls: list[Call] = []
        self.states: dict[str, CallState] = {}
        self.now = 0.0
        self.silent: set[str] = set()
        self.offset = dict.fromkeys(NAMES, 0.0)
        self.on_t: dict[str, float] = {}
        self.urgent_t: dict[str, float] = {}
        self.hot_s = dict.fromkeys(NAMES, 0)
        self.replaced: dict[str, float] = {}
        self.aimed_c: dict[str, float] = {}
        self.asked = dict.fromkeys(NAMES, 0)
        self.made = 0

    # What happens

    @initialize(both=st.booleans())
    def steaks_go_on(self, both: bool) -> None:
        self.let_pass(2)
        for name in NAMES[: 1 + both]:
            self.mark(MarkKind.ON, name)

    @rule(seconds=st.sampled_from([1, 4, 10, 25]))
    def let_pass(self, seconds: int) -> None:
        for _ in range(seconds):
            for steak in NAMES:
                if steak not in self.silent:
                    self.take(Reading(self.now + 0.4, steak, self.core(steak), f"{steak}/1"))
            self.now = float(int(self.now) + 1)
            self.hear(self.cook.advance(self.now))
            self.check_second()

    @rule(steak=STEAKS)
    def a_steak_cooks_on_and_comes_off(self, steak: str) -> None:
        self.let_pass(12)
        self.mark(MarkKind.OFF, steak)
        self.let_pass(6)

    @rule(steak=STEAKS, seconds=st.sampled_from([3, 8, 20]), speaks_again=st.booleans())
    def a_probe_falls_silent(self, steak: str, seconds: int, speaks_again: bool) -> None:
        self.silent.add(steak)
        self.let_pass(seconds)
        if speaks_again:
            self.silent.discard(steak)

    @rule(steak=STEAKS, by=st.sampled_from([-8.0, -2.0, 3.0, 15.0]))
    def a_probe_slips(self, steak: str, by: float) -> None:
        self.offset[steak] += by
        self.silent.discard(steak)
        self.let_pass(5)

    @rule(steak=STEAKS, celsius=st.sampled_from([-50.0, 3.0, 99.0, 900.0]))
    def a_reading_is_wrong(self, steak: str, celsius: float) -> None:
        self.take(Reading(self.now, steak, celsius, f"{steak}/1"))

    @rule(steak=STEAKS, late=st.floats(0.5, 20.0))
    def a_reading_is_late(self, steak: str, late: float) -> None:
        self.take(Reading(self.now - late, steak, self.core(steak), f"{steak}/1"))

    @rule(
        steak=st.sampled_from([*NAMES, None]),
        kind=st.sampled_from(list(MarkKind)),
        ago=st.sampled_from([0.0, 0.0, 8.0]),
    )
    def mark(self, kind: MarkKind, steak: str | None, ago: float = 0.0) -> None:
        self.made += 1
        at = self.now - ago if ago else None
        if self.take(Mark(self.now, steak, kind, f"m{self.made}", at)) and kind is MarkKind.ON:
            for name in NAMES if steak is None else (steak,):
                self.on_t.setdefault(name, self.now)

    @rule(back=st.integers(0, 3))
    def a_mark_or_spot_is_undone(self, back: int) -> None:
        self.take(Undo(self.now, f"m{self.made - back}"))

    @rule(steak=STEAKS, off_by=st.floats(-3.0, 3.0))
    def a_spot_is_tapped_in(self, steak: str, off_by: float) -> None:
        self.made += 1
        self.take(Spot(self.now, steak, self.core(steak) + off_by, f"m{self.made}"))

    @rule(
        steak=STEAKS,
        setting=st.sampled_from(
            [("shift_c", -1.0), ("shift_c", 2.0), ("pull_c", 50.0), ("pull_c", 60.0)]
        ),
    )
    def a_pull_is_set_anew(self, steak: str, setting: tuple[str, float]) -> None:
        self.take(Setting(self.now, steak, *setting))

    @rule(minute=st.sampled_from([37, 39, 40, 43]))
    def the_clock_on_the_wall_is_set(self, minute: int) -> None:
        self.take(Setting(self.now, None, "started", f"2026-06-13T13:{minute:02}:00+00:00"))

    @rule(fault=st.sampled_from(list(Fault)), active=st.booleans())
    def the_surroundings_fail_or_recover(self, fault: Fault, active: bool) -> None:
        self.take(Condition(self.now, fault, active))

    @precondition(lambda self: self.calls)
    @rule(back=st.integers(1, 6), twice=st.booleans())
    def somebody_answers(self, back: int, twice: bool) -> None:
        call = self.calls[-min(back, len(self.calls))]
        before = self.states.get(call.id)
        self.take(Acknowledgement(self.now, call.id, "phone"))
        if twice or before is CallState.ACKNOWLEDGED:
            again = self.cook.apply(self.log(Acknowledgement(self.now, call.id, "other")))
            assert again == [], "an answer counts once"

    @precondition(lambda self: self.calls)
    @rule(back=st.integers(1, 6))
    def somebody_puts_it_aside(self, back: int) -> None:
        call = self.calls[-min(back, len(self.calls))]
        self.take(Shelving(self.now, call.id, "phone", 60.0))

    @rule()
    def the_daemon_is_started_again(self) -> None:
        """The log as written is read back, and the same has been announced; then it goes on."""
        lines = [to_line(input_record(event)) for event in self.inputs]
        self.cook, told = Cook(self.header), list[Effect]()
        for line in lines:
            event = parse_input(json.loads(line))
            assert event is not None
            told += self.cook.apply(event)
        told += self.cook.advance(self.now)
        assert _lines(told) == _lines(self.calls)
        self.take(Restart(self.now))
        before, waiting = len(self.calls), {alarm.id for alarm in self.unanswered()}
        self.let_pass(AGAIN_S)
        still = {alarm.id for alarm in self.unanswered()}
        assert waiting & still <= {call.id for call in self.calls[before:]}

    # What always holds

    def check_second(self) -> None:
        """No alarm to act on in seconds is silent too long, and a due pull is one."""
        urgent = {alarm.id for alarm in self.unanswered()}
        self.urgent_t = {id: self.urgent_t.get(id, self.now) for id in urgent}
        for id, since in self.urgent_t.items():
            heard = max(call.t for call in self.calls if call.id == id)
            assert self.now - max(heard, since) <= SILENT_S, id
        for name in NAMES:
            steak = self.cook.steaks[name]
            if steak.phase is not Phase.ON:
                self.hot_s[name] = 0
                self.replaced.pop(name, None)
            if self.hot_s[name] > SILENT_S:
                assert self.said(name, NOW), f"{name} is due and nobody was told"
            if name in self.replaced and self.now - self.replaced[name] > URGENT_GAP_S:
                assert self.said(name, {CallKind.OVER}), "now was taken back"

    def hear(self, effects: Iterable[Effect]) -> None:
        burst = []
        for effect in effects:
            if isinstance(effect, Call):
                burst.append(effect)
            elif isinstance(effect, StateChange):
                self.check_change(effect)
            else:
                self.see_forecast(effect)
        if burst:
            self.check_burst(burst)
        self.calls += burst

    def see_forecast(self, forecast: Forecast) -> None:
        """How long, seconds, the core has been said to be at its pull temperature."""
        core, pull = forecast.core_c, forecast.pull_c
        is_hot = core is not None and pull is not None and core >= pull
        if forecast.t == self.now:
            self.hot_s[forecast.steak] = self.hot_s[forecast.steak] + 1 if is_hot else 0

    def check_change(self, change: StateChange) -> None:
        """Now is never taken back from a steak whose probe speaks: only over replaces it, or the
        cook, who raised the pull temperature since."""
        assert self.states.get(change.id) is not CallState.CLEARED, "what is over stays over"
        self.states[change.id] = change.state
        said = next(call for call in self.calls if call.id == change.id)
        steak = self.cook.steaks[said.steaks[0]] if said.steaks else None
        if said.call is CallKind.PULL_NOW and change.state is CallState.CLEARED:
            assert steak is not None
            was_raised = self.aim(steak.name) > self.aimed_c[change.id]
            if steak.phase is Phase.ON and steak.last_reading is not None and not was_raised:
                self.replaced.setdefault(steak.name, self.now)

    def check_burst(self, burst: list[Call]) -> None:
        assert {call.t for call in burst} == {self.now}, "calls come second by second"
        priorities = [call.priority for call in burst]
        assert priorities == sorted(priorities)
        assert sum(priority > 1 for priority in priorities) <= 1
        assert len({call.id for call in burst}) == len(burst)
        self.check_gap(min(priorities))
        for call in burst:
            self.check_call(call)

    def check_gap(self, priority: int) -> None:
        """One voice at a time: only what is more urgent cuts in."""
        if self.calls:
            last = self.calls[-1].t
            before = min(call.priority for call in self.calls if call.t == last)
            if not (priority == 1 and before > 1):
                assert self.now - last >= (URGENT_GAP_S if priority == 1 else GAP_S)

    def check_call(self, call: Call) -> None:
        assert set(call.steaks) <= set(NAMES)
        if call.call in PULLS:
            assert self.cook.steaks[call.steaks[0]].phase is Phase.ON, call
        if call.call is CallKind.SPOT_DUE:
            self.check_asking(call.steaks[0])
        if call.steaks and self.cook.steaks[call.steaks[0]].last_reading is not None:
            assert "estimate" not in call.text, "a thermometer is in it"
        state = self.states.get(call.id, CallState.UNACKNOWLEDGED)
        assert state is CallState.UNACKNOWLEDGED, f"{call} sounds though it is {state}"
        if call.call is CallKind.PULL_NOW:
            self.aimed_c.setdefault(call.id, self.aim(call.steaks[0]))
        before = [c for c in self.calls if c.id == call.id]
        assert not before or call.call not in PLANNED, "a planned call is made once"
        assert {(c.call, c.steaks) for c in before} <= {(call.call, call.steaks)}

    def check_asking(self, name: str) -> None:
        """A spot is asked for where it is all there is, and not again and again."""
        steak = self.cook.steaks[name]
        assert steak.phase is Phase.ON
        assert steak.last_reading is None
        assert steak.settings.channel is None
        assert not self.cook.pull_is_due(name)
        self.asked[name] += 1
        assert self.asked[name] <= MOST_ASKED

    # How it is done

    def aim(self, steak: str) -> float:
        settings = self.cook.steaks[steak].settings
        return settings.pull_c + settings.shift_c

    def core(self, steak: str) -> float:
        gone = self.now - self.on_t[steak] if steak in self.on_t else 0.0
        return round(START_C[steak] + self.rise * gone + self.offset[steak], 2)

    def said(self, steak: str, kinds: set[CallKind]) -> bool:
        """Whether one of these was announced of a steak since it went on."""
        on_t = self.cook.steaks[steak].on_t or 0.0
        return any(c.call in kinds and steak in c.steaks and c.t >= on_t for c in self.calls)

    def unanswered(self) -> list[Alarm]:
        """The alarms to act on in seconds that nobody has answered."""
        return [
            alarm
            for alarm in self.cook.live_alarms()
            if alarm.cause.priority == 1 and alarm.state is CallState.UNACKNOWLEDGED
        ]

    def log(self, event: Input) -> Input:
        """Stamp and keep an input, as a live site does."""
        event = replace(event, t=self.cook.stamp(event.t))
        self.inputs.append(event)
        return event

    def take(self, event: Input) -> bool:
        """Check, log and apply an input; False where it is refused."""
        try:
            self.cook.check(replace(event, t=self.cook.stamp(event.t)))
        except PullcallError:
            return False
        event = self.log(event)
        if isinstance(event, Spot | Undo | Restart | Shelving):  # then it may be asked for anew
            self.asked = dict.fromkeys(NAMES, 0)
        self.hear(self.cook.apply(event))
        self.now = max(self.now, event.t)
        return True


def _lines(effects: Iterable[Effect]) -> list[str]:
    return [to_line(call_record(effect)) for effect in effects if isinstance(effect, Call)]


class CallsToSlowHands(Calls):
    """The same where "pull now" is called a dozen seconds early."""

    header = replace(HEADER, lessons=Lessons(reaction_s=12.0))


class CallsWithoutProbes(Calls):
    """The same where hand-held spots are all there is, until a probe speaks after all; it is met
    as the first of them is about to be asked for."""

    header = replace(
        HEADER, steaks=tuple(replace(s, pull_c=58.0, channel=None) for s in HEADER.steaks)
    )
    rise = 0.05

    def __init__(self) -> None:
        super().__init__()
        self.silent = set(NAMES)

    @initialize(both=st.booleans())
    def steaks_go_on(self, both: bool) -> None:
        super().steaks_go_on(both)
        self.let_pass(115)


#: Each takes about a second; PULLCALL_CALL_EXAMPLES=200 for a long run.
EXAMPLES = int(os.environ.get("PULLCALL_CALL_EXAMPLES", "25"))
TestCalls = Calls.TestCase
TestCalls.settings = settings(
    max_examples=EXAMPLES,
    stateful_step_count=40,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)
TestCallsToSlowHands = CallsToSlowHands.TestCase
TestCallsToSlowHands.settings = settings(TestCalls.settings, max_examples=10)
TestCallsWithoutProbes = CallsWithoutProbes.TestCase
TestCallsWithoutProbes.settings = settings(TestCalls.settings, max_examples=6)
