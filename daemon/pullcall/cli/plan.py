"""``pullcall plan``: the cook's day as a table, backward from the turn-in window."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from pullcall.cli.table import table
from pullcall.clock import RealClock
from pullcall.errors import ConfigError
from pullcall.events import CookHeader, Range, Window
from pullcall.local_zone import local
from pullcall.plan.backward import PlanStep
from pullcall.plan.durations import format_range, parse_duration, parse_range
from pullcall.plan.live import LivePlan, live_plan
from pullcall.plan.offset import APART_S
from pullcall.plan.progress import Progress
from pullcall.plan.say import percent, span
from pullcall.plan.steps import COMMON_PRACTICE, STEP, check_names, label
from pullcall.plan.wall import parse_clock, parse_window, window_span, window_times
from pullcall.report.degrees import Degrees
from pullcall.settings import Settings, load_settings

_CAUTIONS = (
    "Light charcoal outdoors only, never in a tent, vehicle or garage: its fumes (carbon",
    "monoxide) kill and cannot be smelled. Chimney, coal and grate burn: gloves, closed shoes.",
    "A steak pulled below 145 F is undercooked by the USDA's figures (145 F and 3 min of rest):",
    "keep raw steaks cold, and let the contest's rules and the local food code decide.",
)


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("plan", help="print the day, backward from the turn-in window")
    parser.add_argument("--window", metavar="HH:MM-HH:MM", help="turn-in opens and closes")
    parser.add_argument("--now", metavar="HH:MM", help="plan from this time instead of now")
    parser.add_argument("--aim", type=_aim, metavar="SHARE", help="how far into the window, 0 to 1")
    parser.add_argument("--steaks", type=int, choices=(1, 2), help="how many go on")
    parser.add_argument("--offset", metavar="TIME", help='second steak on later, such as "60 s"')
    parser.add_argument(
        "--set",
        nargs="+",
        action="extend",
        default=[],
        metavar="STEP=TIME",
        help="your own durations, such as rest=7-9min",
    )
    parser.add_argument("--config", type=Path, metavar="FILE", help="pullcall.toml to use")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the plan. Raises ConfigError for what cannot be used."""
    settings = load_settings(args.config)
    try:
        day = _day(args, settings)
    except ValueError as exc:
        raise ConfigError(f"{exc}.") from exc
    print("\n".join(_lines(day)))
    return 0


@dataclass(frozen=True, slots=True)
class _Printed:
    """What is planned; the plan's zero is ``now``."""

    now: datetime
    text: str
    window: Window
    header: CookHeader
    plan: LivePlan
    degrees: Degrees

    def wall(self, t: float) -> datetime:
        """The time of day at ``t`` seconds of the plan."""
        return local(self.now.astimezone(UTC) + timedelta(seconds=t))


def _day(args: argparse.Namespace, settings: Settings) -> _Printed:
    here = local(RealClock().wall())
    now = parse_clock(args.now, here) if args.now else here
    text = args.window or settings.plan.window
    if text is None:
        raise ValueError("say when turn-in is, for example --window 14:00-14:30")
    window = parse_window(text, now)
    header = _header(args, settings, window, now)
    plan = live_plan(0.0, window_span(window, now), header, Progress())
    return _Printed(now, text, window, header, plan, Degrees(settings.page.unit))


def _header(
    args: argparse.Namespace, settings: Settings, window: Window, now: datetime
) -> CookHeader:
    steaks = settings.steak_settings()
    if args.steaks is not None and args.steaks > len(steaks):
        raise ValueError("the configuration has one steak: give it another [[steak]] section")
    usual = settings.usual_cook()
    return replace(
        usual,
        started=now.isoformat(timespec="seconds"),
        steaks=steaks[: args.steaks],
        window=window,
        aim_share=usual.aim_share if args.aim is None else args.aim,
        durations={**usual.durations, **_durations(args.set)},
        offset_s=usual.offset_s if args.offset is None else parse_duration(args.offset),
    )


def _durations(texts: list[str]) -> Mapping[str, Range]:
    """Texts such as "rest=7-9min". Raises ValueError with a sentence."""
    own = {}
    for text in texts:
        name, is_, range_ = text.partition("=")
        if not is_:
            raise ValueError(f'write --set as step=time, for example rest=7-9min, not "{text}"')
        check_names({name: Range(0.0, 0.0)})
        try:
            own[name] = parse_range(range_)
        except ValueError as exc:
            raise ValueError(f"--set {text}: {exc}") from exc
    return own


def _aim(text: str) -> float:
    share = float(text)
    if not 0.0 <= share <= 1.0:
        raise argparse.ArgumentTypeError("the aim lies between 0 (opens) and 1 (closes)")
    return share


def _lines(day: _Printed) -> Iterator[str]:
    yield from _head(day)
    yield ""
    yield from _steps(day)
    yield ""
    yield from _figures(day)
    yield ""
    yield from _meaning(day)
    yield ""
    yield from _CAUTIONS


def _head(day: _Printed) -> Iterator[str]:
    opens = datetime.fromisoformat(day.window.opens)
    closes = datetime.fromisoformat(day.window.closes)
    aim = opens + day.header.aim_share * (closes - opens)
    yield (
        f"Turn-in {opens:%H:%M}-{closes:%H:%M} on {opens:%A, %d %B}, aiming at {aim:%H:%M}. "
        f"It is {day.now:%H:%M} now."
    )
    closed = datetime.combine(day.now.date(), window_times(day.text)[1], day.now.tzinfo)
    if opens.date() > day.now.date() and closed <= day.now:
        yield f"Today's window closed at {closed:%H:%M}: this is the plan for tomorrow."


def _steps(day: _Printed) -> Iterator[str]:
    steps = sorted(day.plan.steps, key=_begin_t)
    rows: list[tuple[str, ...]] = [("", "begin", "latest", "step", "takes", "why")]
    rows.extend(_row(day, step) for step in steps)
    yield from table(rows)


def _row(day: _Printed, step: PlanStep) -> tuple[str, ...]:
    known = STEP[step.name]
    takes = format_range(Range(step.low_s, step.high_s)) if step.high_s else ""
    own = step.name in day.header.durations
    starred = known.source == COMMON_PRACTICE and not own
    return (
        ">" if step.critical else "",
        f"{day.wall(_begin_t(step) + 30.0):%H:%M}",
        f"{day.wall(step.latest_t):%H:%M}",
        label(step.name, step.steak) if step.asks else f"  {label(step.name, step.steak)}",
        f"{takes} *" if starred else takes,
        "your own time" if own else _why(day, step),
    )


def _why(day: _Printed, step: PlanStep) -> str:
    if step.name != "cook":
        return STEP[step.name].why
    thickness = next(s.thickness_mm for s in day.header.steaks if s.steak == step.steak)
    return f"{day.degrees.thick(thickness)} thick, until the forecast knows better"


def _begin_t(step: PlanStep) -> float:
    """When to begin; as soon as it can be where that is later than recommended."""
    return max(step.recommended_t, step.earliest_t)


def _figures(day: _Printed) -> Iterator[str]:
    plan = day.plan
    assert plan.as_planned is not None and plan.slack_s is not None
    if (critical := plan.critical) is not None:
        behind = f"too late to be sure of {day.window.closes[11:16]}"
        what = "to spare" if critical.slack_s >= 0.0 else behind
        yield f"> is the critical step: {span(critical.slack_s)} {what}."
    yield f"Chance to hand in inside the window, beginning as above: {percent(plan.as_planned)}."
    if plan.slack_s >= 0.0:
        yield f"From now you can lose {span(plan.slack_s)} and still have 90 %."
    else:
        yield f"You are {span(plan.slack_s)} too late for 90 %."
    yield from _last_on(day)
    yield from _pulls(day)
    yield from plan.advice


def _last_on(day: _Printed) -> Iterator[str]:
    """The last moment to put steaks on, in one line where it is the same minute."""
    moments = {steak: f"{day.wall(t):%H:%M}" for steak, t in day.plan.last_on_t.items()}
    if len(set(moments.values())) == 1 and len(moments) > 1:
        moments = {"the steaks": next(iter(moments.values()))}
    for steak, moment in moments.items():
        yield f"Last moment to put {steak} on and have 90 %: {moment}."


def _pulls(day: _Printed) -> Iterator[str]:
    """Whether two pulls would collide, and what keeps them apart."""
    offset, gap = day.plan.offset, day.plan.gap_s
    if offset is None or gap is None:
        return
    second = day.header.steaks[1].steak
    if day.header.offset_s >= offset.offset_s:
        when = "later" if gap.p50 >= 0.0 else "earlier"
        yield f"Expect to pull {second} about {abs(gap.p50):.0f} s {when}."
    else:
        yield (
            f"Pulls would collide: put {second} on {offset.offset_s:.0f} s later and they are "
            f"{APART_S:.0f} s apart in {percent(offset.apart)} of cooks (--offset "
            f'"{offset.offset_s:.0f} s").'
        )


def _meaning(day: _Printed) -> Iterator[str]:
    closes = datetime.fromisoformat(day.window.closes)
    yield "begin   reaches the aim if every step takes the middle of its range; if it is too late"
    yield "        for that, as soon as it can be"
    yield f"latest  still makes {closes:%H:%M} if every step takes its longest"
    yield f"*       {COMMON_PRACTICE}: set your own with --set rest=7-9min, or for good"
    yield "        in the configuration, section [plan.durations]"
    yield "Nothing is taken as done yet: during the cook the page plans on from your marks."
