"""Facts of cooks made by hand: curves by a plain formula, figures that a test can set."""

from __future__ import annotations

from dataclasses import replace
from math import exp

from pullcall.events import (
    CallKind,
    CookHeader,
    FireSettings,
    MarkKind,
    Note,
    Quantiles,
    Range,
    SteakSettings,
    Window,
)
from pullcall.hindsight.facts import (
    AlarmFacts,
    CookFacts,
    DoneMark,
    FireFacts,
    LeadScore,
    PeakScore,
    Said,
    SteakFacts,
    StepFacts,
    Trace,
)
from pullcall.plan.steps import STEP, label

PULL_C, TARGET_C = 53.9, 57.0
_LEADS = ((120.0, 9.0), (60.0, 5.0), (40.0, 3.0), (20.0, 1.5))
_PATTERN = ((120.0, MarkKind.TURN), (240.0, MarkKind.FLIP), (330.0, MarkKind.TURN))


def curve(on_t: float, off_t: float, start_c: float, off_c: float, peak_c: float) -> Trace:
    """A core that rises to ``off_c`` at off, on to ``peak_c`` 150 s later, and sinks."""
    cooking = off_t - on_t

    def at(t: float) -> float:
        share = (t - on_t) / cooking
        if share <= 0.0:
            return start_c
        if share <= 1.0:
            return start_c + (off_c - start_c) * share**2
        after = t - off_t
        climb = (peak_c - off_c) * (1.0 - exp(-after / 45.0)) / (1.0 - exp(-150.0 / 45.0))
        return off_c + climb - max(after - 150.0, 0.0) * 0.004

    times = [on_t - 20.0 + 5.0 * n for n in range(int((off_t + 480.0 - on_t + 20.0) // 5))]
    return tuple((t, at(t)) for t in times)


def steak(
    name: str = "left",
    on_t: float = 100.0,
    cooked_s: float = 560.0,
    reaction_s: float | None = 3.0,
    off_c: float = 54.2,
    peak_c: float | None = 57.0,
    start_c: float = 5.0,
    thickness_mm: float = 32.0,
    rest_s: float | None = 450.0,
    target_c: float | None = TARGET_C,
) -> SteakFacts:
    """One steak; all its marks on the pattern, everything as it should be unless asked."""
    off_t = on_t + cooked_s
    cross_t = off_t - 2.0
    boxed_t = None if rest_s is None else off_t + rest_s
    return SteakFacts(
        steak=name,
        settings=SteakSettings(name, thickness_mm, start_c, PULL_C, target_c, f"{name}/0"),
        on_t=on_t,
        off_t=off_t,
        boxed_t=boxed_t,
        start_c=start_c,
        pull_c=PULL_C,
        cross_t=cross_t,
        now_t=None if reaction_s is None else off_t - reaction_s,
        off_c=off_c,
        rise_at_off_c_per_min=4.0,
        peak_t=None if peak_c is None else off_t + 150.0,
        peak_c=peak_c,
        climb_told_c=Quantiles(2.0, 2.8, 3.6),
        rested_t=off_t + 430.0,
        leads=tuple(_lead(cross_t, lead, wide) for lead, wide in _LEADS),
        peaks=() if peak_c is None else (_peak(off_t, peak_c),),
        marks=_marks(on_t, off_t, boxed_t),
        trace=curve(on_t, off_t, start_c, off_c, peak_c or off_c + 2.8),
    )


def _lead(cross_t: float, lead_s: float, wide_s: float) -> LeadScore:
    told = Quantiles(lead_s - wide_s, lead_s + 0.4 * wide_s, lead_s + 1.5 * wide_s)
    return LeadScore(lead_s, cross_t - lead_s, told, lead_s, 0.3 * wide_s, 2.5 * wide_s)


def _peak(off_t: float, peak_c: float) -> PeakScore:
    return PeakScore(0.0, off_t, Quantiles(peak_c - 1.0, peak_c - 0.2, peak_c + 0.6), peak_c, 0.2)


def _marks(on_t: float, off_t: float, boxed_t: float | None) -> tuple[DoneMark, ...]:
    marks = [DoneMark(on_t, MarkKind.ON)]
    marks += [DoneMark(on_t + t + 2.0, kind, on_t + t) for t, kind in _PATTERN]
    marks.append(DoneMark(off_t, MarkKind.OFF))
    if boxed_t is not None:
        marks.append(DoneMark(boxed_t, MarkKind.BOXED))
    return tuple(marks)


def cook(
    name: str = "cook-1",
    steaks: tuple[SteakFacts, ...] | None = None,
    started: str = "2026-06-13T13:40:00+00:00",
    handed_in: str | None = "left",
) -> CookFacts:
    """A cook of two steaks at which all went well: handed in a third into the window."""
    steaks = (steak(), steak("right", 140.0)) if steaks is None else steaks
    boxed = [s.boxed_t for s in steaks if s.boxed_t is not None]
    handed_t = max(boxed, default=1_200.0) + 180.0
    steaks = tuple(replace(s, handed_in_t=handed_t) if s.steak == handed_in else s for s in steaks)
    window_t = (handed_t - 600.0, handed_t + 1_200.0)
    header = CookHeader(
        name,
        started,
        tuple(s.settings for s in steaks),
        window=Window("2026-06-13T13:56:50+00:00", "2026-06-13T14:26:50+00:00"),
        fire=FireSettings("grate/0"),
        simulated=True,
    )
    fire = FireFacts(287.0, 270.0, 300.0, 284.0, 20.0, fire_trace(285.0, 284.0, 1_100.0))
    return CookFacts(
        name,
        header,
        handed_t + 60.0,
        steaks,
        fire,
        steps=_steps(steaks),
        said=tuple(said for s in steaks for said in _said(s)),
        window_t=window_t,
        chance_at_on=0.97,
        as_called=True,
    )


def fire_trace(begin_c: float, end_c: float, until: float) -> Trace:
    """A grate that goes straight from one temperature to another."""
    count = int(until // 10)
    return tuple((10.0 * n, begin_c + (end_c - begin_c) * n / count) for n in range(count + 1))


def _steps(steaks: tuple[SteakFacts, ...]) -> tuple[StepFacts, ...]:
    steps = [
        StepFacts("light", None, "Light the chimney", Range(900.0, 1200.0), -2400.0, -2380.0, 1000)
    ]
    for s in steaks:
        assert s.on_t is not None and s.off_t is not None
        usual = Range(510.0, 720.0)
        steps.append(
            StepFacts(
                "cook", s.steak, f"Put {s.steak} on", usual, s.on_t - 5.0, s.on_t, s.off_t - s.on_t
            )
        )
    return tuple(steps)


def _said(steak: SteakFacts) -> tuple[Said, ...]:
    if steak.now_t is None or steak.cross_t is None or steak.on_t is None:
        return ()
    of, name = (steak.steak,), steak.steak.capitalize()
    turns = [
        Said(steak.on_t + t - 10.0, kind.value, of, f"{kind} {steak.steak} in 10", 2)
        for t, kind in _PATTERN
    ]
    soon = [
        Said(steak.cross_t - s, CallKind.PULL_SOON, of, f"{name}: pull in about {s:.0f}", 1)
        for s in (40.0, 20.0, 10.0)
    ]
    return (*turns, *soon, Said(steak.now_t, CallKind.PULL_NOW, of, f"{name}: pull now", 1))


def alarm(
    call: CallKind = CallKind.PROBE_LOST,
    began_t: float = 300.0,
    lasted_s: float = 40.0,
    answered: bool = True,
    steaks: tuple[str, ...] = ("left",),
    cause: str = "no reading for 20 s",
) -> AlarmFacts:
    """An alarm; answered after 8 s unless asked."""
    at = began_t + 8.0 if answered else None
    by = "phone 1" if answered else ""
    return AlarmFacts(f"a{began_t:g}", call, steaks, cause, began_t, 3, at, by, began_t + lasted_s)


def with_steak(facts: CookFacts, place: int, **changes: object) -> CookFacts:
    """The cook with one of its steaks changed."""
    steaks = list(facts.steaks)
    steaks[place] = replace(steaks[place], **changes)  # type: ignore[arg-type]
    return replace(facts, steaks=tuple(steaks))


def full_cook() -> CookFacts:
    """A cook of two steaks at which much went wrong: everything that a sheet can show at once."""
    left = steak("left", 100.0, 600.0, 9.0, 55.6, 58.9, start_c=9.0, rest_s=300.0)
    right = steak("right", 130.0, 585.0, None, 52.6, 55.0, thickness_mm=34.0, rest_s=250.0)
    facts = cook("cook-9", (left, right))
    marks = [
        replace(m, t=m.t + 25.0) if m.mark is MarkKind.FLIP else m for m in facts.steaks[0].marks
    ]
    facts = with_steak(facts, 0, marks=tuple(marks))
    kinds = (CallKind.PROBE_LOST, CallKind.FIRE_LOW, CallKind.UNHEARD, CallKind.PROBE_WRONG)
    alarms = [
        alarm(kinds[n % 4], 150.0 + 40.0 * n, 30.0 + n, n % 3 > 0, ("left", "right")[: n % 2 + 1])
        for n in range(15)
    ]
    fire = FireFacts(265.0, 225.0, 420.0, 240.0, None, fire_trace(265.0, 225.0, 1_100.0))
    names = ("season", "cold", "pour", "heat_up", "fetch", "rest", "box", "walk")
    steps = [
        StepFacts(name, None, label(name), STEP[name].takes, 60.0 * n, 60.0 * n + 330.0 + n, 400.0)
        for n, name in enumerate(names)
    ]
    return replace(facts, alarms=tuple(alarms), fire=fire, steps=(*facts.steps, *steps))


def full_notes() -> tuple[Note, ...]:
    """What people may write about a cook, all of it and at length."""
    wall, story = "2026-06-13T16:00:00+00:00", "Wind from the river all morning. " * 12
    return tuple(
        Note(wall, of, name, value)
        for of, name, value in (
            (None, "place", "Riverside park"),
            (None, "contest", "Spring steak day"),
            (None, "tags", ("windy", "new coal")),
            (None, "score.taste", 8.5),
            (None, "score.doneness", "9 / 9 / 7"),
            (None, "handed_in", "left"),
            (None, "notes", story),
            ("left", "weight_g", 480.0),
            ("left", "notes", "fat cap a little thick"),
        )
    )


def earlier_cooks() -> tuple[CookFacts, ...]:
    """Three cooks at which all went well, the latest last."""
    return tuple(cook(f"cook-{n}", started=f"2026-05-{n:02d}T13:40:00+00:00") for n in (5, 6, 7))
