"""``pullcall learned``: what earlier cooks taught, and which of it the next cook begins with."""

from __future__ import annotations

import argparse
import re
import sys
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from pullcall.cli.common import add_config, log_path, open_log
from pullcall.cli.table import table
from pullcall.cli.worked_out import add_unit, unit_of
from pullcall.clock import RealClock
from pullcall.degrees import F_PER_C
from pullcall.errors import LogError, RefusedError, UnknownNameError
from pullcall.events import CookHeader
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.work import facts_of
from pullcall.learning.choice import Choice, Mode
from pullcall.learning.learn import NAMES, TEACHING, learn
from pullcall.learning.lesson import Lesson, check_own, figure, words
from pullcall.log.over import is_over
from pullcall.log.store import Store
from pullcall.printable import printable
from pullcall.settings import load_settings

_FIGURE = re.compile(r"\s*(-?\d+(?:\.\d+)?)\s*([a-zA-Z]*)\s*")
#: How an own figure is written, by the lesson's unit: what each unit is worth, and an example.
_UNITS = {
    "s": ({"s": 1.0, "min": 60.0}, '"2.5 s" or "3 min"'),
    "C": ({"C": 1.0, "F": 1.0 / F_PER_C}, '"2.5 C" or "5 F"'),
    "x": ({"x": 1.0, "": 1.0}, '"1.3"'),
}
_ALL = "all"
_WIDTH = 98


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        "learned",
        help="what your cooks taught, and what the next one begins with",
        description="What your cooks taught. With use: take what was learned; with own: take your "
        f"own figure; with reset: the default. NAME is one of {', '.join(NAMES)}, or all.",
    )
    parser.add_argument("act", nargs="?", choices=("use", "own", "reset"), help="what to take")
    parser.add_argument("name", nargs="?", metavar="NAME", help="the lesson, or all")
    parser.add_argument("value", nargs="*", metavar="VALUE", help='such as "2.5 s", 3 min, 5 F')
    parser.add_argument("--evidence", action="store_true", help="each cook's figure and weight")
    add_unit(parser)
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Choose, if asked to, then print every lesson. Raises LogError or RefusedError."""
    settings, log = load_settings(args.config), log_path(args)
    with open_log(args) as store:
        choices, entries = store.choices(), [e for e in store.cooks() if is_over(store, e)]
    usual = settings.usual_cook()
    if entries:  # a log of simulated cooks is about the next of those
        usual = replace(usual, simulated=entries[-1].header.simulated)
    like = [e.id for e in entries if e.header.simulated is usual.simulated]
    facts = list(_worked_out(log, like[-TEACHING:]))
    if args.act is not None:
        made = list(_choices(args, learn(facts, usual, choices)))
        _keep(log, made)
        choices = (*(c for c in choices if c.name not in {m.name for m in made}), *made)
    lines = _lines(learn(facts, usual, choices), usual, unit_of(args), args.evidence)
    print("\n".join(map(printable, lines)))
    return 0


def _worked_out(log: Path, cooks: Sequence[str]) -> Iterator[CookFacts]:
    for cook in cooks:
        try:
            yield facts_of(log, cook)
        except LogError as exc:
            print(printable(f"{cook} is left out: {exc}"), file=sys.stderr)


def _choices(args: argparse.Namespace, lessons: Sequence[Lesson]) -> Iterator[Choice]:
    """What the arguments choose. Raises RefusedError with what to do."""
    wall = RealClock().wall().isoformat()
    meant = [one for one in lessons if args.name in (one.name, _ALL)]
    if not meant:
        raise UnknownNameError(f"Name a lesson: {', '.join(NAMES)}, or {_ALL}.")
    if args.act != "own" and args.value:
        raise RefusedError(f'A figure goes with own: `learned own {args.name} "…"`.')
    for lesson in meant:
        if args.act == "own":
            yield Choice(wall, lesson.name, Mode.OWN, _own(lesson, " ".join(args.value), args.name))
        else:
            mode = Mode.LEARNED if args.act == "use" else Mode.DEFAULT
            yield Choice(wall, lesson.name, mode)


def _own(lesson: Lesson, text: str, name: str) -> float:
    """An own figure in the lesson's unit. Raises RefusedError for what it cannot be."""
    if name == _ALL:
        raise RefusedError("Give each lesson a figure of its own.")
    if not lesson.can_be_own:
        check_own(lesson, 0.0)
    units, example = _UNITS[lesson.unit]
    match = _FIGURE.fullmatch(text)
    unit = None if match is None else _unit(match[2], units)
    if match is None or unit is None:
        raise RefusedError(f"Write the figure of {lesson.name} like {example}.")
    value = float(match[1]) * units[unit]
    check_own(lesson, value)
    return value


def _unit(text: str, units: dict[str, float]) -> str | None:
    return next((unit for unit in units if unit.lower() == text.lower()), None)


def _keep(log: Path, choices: Sequence[Choice]) -> None:
    try:
        with Store(log) as store:
            for choice in choices:
                store.choose(choice)
    except LogError as exc:
        raise LogError(
            f"{exc} While Pullcall runs, choose on its page: Logbook, what was learned."
        ) from exc


def _lines(
    lessons: Sequence[Lesson], usual: CookHeader, unit: str, with_evidence: bool
) -> Iterator[str]:
    rows: list[tuple[str, ...]] = [("lesson", "next cook", "mode", "")]
    rows += [_row(lesson, unit) for lesson in lessons]
    yield from table(rows)
    if usual.simulated:
        yield ""
        yield "From simulated cooks, for simulated cooks."
    if with_evidence:
        for lesson in lessons:
            yield ""
            yield from _evidence(lesson, unit)


def _row(lesson: Lesson, unit: str) -> tuple[str, ...]:
    mode = lesson.mode if lesson.is_changed else Mode.DEFAULT
    return lesson.name, figure(lesson, lesson.in_force, unit), mode, words(lesson, unit)


def _evidence(lesson: Lesson, unit: str) -> Iterator[str]:
    yield f"{lesson.label} ({lesson.name})"
    yield from textwrap.wrap(lesson.why, _WIDTH, initial_indent="  ", subsequent_indent="  ")
    rows: list[tuple[str, ...]] = [("  cook", "steak", "figure", "weight")]
    rows += [
        (f"  {e.cook}", e.steak or "", figure(lesson, e.value, unit), f"{e.weight:.2f}")
        for e in lesson.evidence
    ]
    yield from table(rows) if lesson.evidence else ("  no evidence yet",)
