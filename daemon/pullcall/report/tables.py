"""The tables of the sheet: forecasts against truth, the steaks, the plan, the alarms."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from pullcall.events import Range
from pullcall.hindsight.facts import AlarmFacts, CookFacts, LeadScore, SteakFacts, StepFacts
from pullcall.plan.durations import format_range
from pullcall.report.degrees import Degrees, capital, signed_seconds, span
from pullcall.report.markup import Markup, element
from pullcall.report.measures import MEASURES, Kind, troubles
from pullcall.report.moments import Moments
from pullcall.report.page import table

#: So many rows fit on paper.
_PRINTED_STEPS, _PRINTED_ALARMS = 8, 5
_NONE = "–"


def forecasts(facts: CookFacts) -> Markup | None:
    """What was told of each pull against what came, seconds; None where nothing was."""
    rows = [_told(steak, lead) for steak in facts.steaks for lead in steak.leads]
    if not rows:
        return None
    return table(("Before", "told", "band", "truth", "error", "inside"), rows)


def _told(steak: SteakFacts, lead: LeadScore) -> tuple[str, ...]:
    told = lead.pull_in_s
    return (
        f"{capital(steak.steak)} {lead.lead_s:.0f} s",
        f"{told.p50:.0f}",
        f"{told.p10:.0f} – {told.p90:.0f}",
        f"{lead.true_in_s:.0f}",
        signed_seconds(lead.error_s).removesuffix(" s"),
        "yes" if lead.is_covered else element("span", "no", class_="out"),
    )


def steaks(facts: CookFacts, degrees: Degrees) -> Markup:
    """Each steak's figures: temperatures, carry-over told and measured, times per phase."""

    def row(label: str, of: Callable[[SteakFacts], str]) -> tuple[str, ...]:
        return (label, *(of(steak) for steak in facts.steaks))

    def temperature(celsius: float | None) -> str:
        return _NONE if celsius is None else degrees.at(celsius)

    rows = [
        row("pull", lambda s: temperature(s.pull_c)),
        row("target", lambda s: temperature(s.settings.target_c)),
    ]
    for measure in MEASURES:
        if measure.is_of_cook:
            continue
        values = [measure.of(facts, steak) for steak in facts.steaks]
        rows.append(
            (measure.label, *(_NONE if v is None else measure.told(v, degrees) for v in values))
        )
        if measure.name == "climb":
            rows[-1] = ("carry-over measured", *rows[-1][1:])
            rows.append(row("carry-over told", lambda s: _climb(s, degrees)))
            rows.append(row("told between", lambda s: _climb_band(s, degrees)))
    return table(("", *(capital(s.steak) for s in facts.steaks)), rows)


def _climb(steak: SteakFacts, degrees: Degrees) -> str:
    told = steak.climb_told_c
    return _NONE if told is None else degrees.signed(told.p50)


def _climb_band(steak: SteakFacts, degrees: Degrees) -> str:
    told = steak.climb_told_c
    if told is None:
        return _NONE
    low, high = degrees.step(told.p10), degrees.step(told.p90)
    return f"{low:.1f} – {high:.1f} {degrees.letter}"


def plan(steps: Sequence[StepFacts], wall: Moments) -> Markup | None:
    """The plan against what happened; None where nothing of it is known."""
    rows = [_step(step, wall) for step in steps if _is_done(step)]
    if not rows:
        return None
    head = ("Step", "planned at", "begun at", "took", "meant")
    return table(head, rows, _PRINTED_STEPS, class_="steps")


def _is_done(step: StepFacts) -> bool:
    return step.began_t is not None or step.ended_t is not None


def _begun(step: StepFacts, wall: Moments) -> str:
    """When it was begun, or where no mark tells that, when it was done ("by")."""
    if step.began_t is not None:
        return wall.at(step.began_t)
    return _NONE if step.ended_t is None else f"by {wall.at(step.ended_t)}"


def _step(step: StepFacts, wall: Moments) -> tuple[str, ...]:
    return (
        step.label,
        _NONE if step.planned_t is None else wall.at(step.planned_t),
        _begun(step, wall),
        _NONE if step.took_s is None else format_range(Range(step.took_s, step.took_s)),
        _NONE if step.range_.high_s <= 0.0 else format_range(step.range_),
    )


def alarms(facts: CookFacts, wall: Moments) -> Markup | None:
    """The alarms with cause, answer and duration; None where there were none."""
    rows = [_alarm(alarm, facts, wall) for alarm in troubles(facts)]
    if not rows:
        return None
    return table(("At", "cause", "answered", "lasted"), rows, _PRINTED_ALARMS, class_="wrapped")


def _alarm(alarm: AlarmFacts, facts: CookFacts, wall: Moments) -> tuple[str, ...]:
    kind = alarm.call.replace("_", " ")
    of = f"{', '.join(alarm.steaks)}: " if alarm.steaks else ""
    cause = f"{of}{kind}" + (f", {alarm.cause}" if alarm.cause else "")
    times = "" if alarm.times <= 1 else f", {alarm.times}×"
    lasted = (
        facts.ends_t - alarm.began_t if alarm.ended_t is None else alarm.ended_t - alarm.began_t
    )
    return (
        wall.exact(alarm.began_t),
        cause,
        _answer(alarm),
        f"{span(lasted) if alarm.ended_t is not None else 'to the end'}{times}",
    )


def _answer(alarm: AlarmFacts) -> str:
    if alarm.answered_t is None:
        return "nobody"
    by = f", {alarm.by}" if alarm.by else ""
    return f"{span(alarm.answered_t - alarm.began_t)}{by}"


def fire(facts: CookFacts, degrees: Degrees) -> str:
    """The fire in one sentence."""
    found = facts.fire
    if found.mean_c is None:
        return "No probe at the grate: the fire was not recorded."
    told = [f"mean {degrees.whole(found.mean_c)}"]
    if found.low_c is not None and found.high_c is not None:
        told.append(f"{degrees.whole(found.low_c)} to {degrees.whole(found.high_c)}")
    at_on = "" if found.at_on_c is None else f"{degrees.whole(found.at_on_c)} at the first on; "
    limits = facts.setup.fire
    return (
        f"Grate {at_on}while cooking {', '.join(told)} "
        f"(floor {degrees.whole(limits.floor_c)}, ceiling {degrees.whole(limits.ceiling_c)})."
    )


def cook_rows(facts: CookFacts, degrees: Degrees) -> Sequence[tuple[str, str]]:
    """The figures of the whole cook that are not the fire's."""
    if not facts.steaks:
        return ()
    found = [
        (m.label, m.of(facts, facts.steaks[0]), m)
        for m in MEASURES
        if m.is_of_cook and m.kind is not Kind.GRATE
    ]
    return [(label, m.told(value, degrees)) for label, value, m in found if value is not None]
