"""What was called and done to each steak, as a lane below the curves: calls above, marks below."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pullcall.events import CallKind, MarkKind
from pullcall.hindsight.facts import CookFacts, Said, SteakFacts
from pullcall.report.drawing import line, named, text
from pullcall.report.markup import Markup
from pullcall.report.pens import pen
from pullcall.report.scale import Scale, spread

HEIGHT = 56.0
#: The line of a lane lies so far below its top.
_LINE = 32.0
#: A letter of :data:`drawing.TEXT` is about so wide, drawing units.
_LETTER = 6.0
_LEAD = re.compile(r"(\d+)\D*$")
_TROUBLE = frozenset(
    {
        CallKind.OVER,
        CallKind.PROBE_LOST,
        CallKind.PROBE_WRONG,
        CallKind.FORECAST_SHAKY,
        CallKind.UNHEARD,
    }
)
#: Marks by the words of the lane, others by their own.
_MARKS = {MarkKind.BOXED: "box", MarkKind.HANDED_IN: "in"}
_LID = frozenset({MarkKind.LID_OPEN, MarkKind.LID_CLOSE})


@dataclass(frozen=True, slots=True)
class _Tick:
    t: float
    words: str


def lane(facts: CookFacts, place: int, x: Scale, top: float, zero_t: float) -> Iterator[Markup]:
    """The lane of the steak at ``place`` of the cook's order."""
    steak, middle = facts.steaks[place], top + _LINE
    yield line((x.start, middle), (x.end, middle))
    yield named((x.start - 5.0, middle + 4.0), _short(steak.steak), pen(place), "end")
    calls = [said for said in facts.said if steak.steak in said.steaks]
    yield from _calls(calls, x, middle, zero_t)
    for alarm in facts.alarms:
        at = alarm.began_t - zero_t
        if alarm.call in _TROUBLE and steak.steak in alarm.steaks and x.holds(at):
            yield text((x.at(at), middle - 17.0), "!", "middle", font_weight="700", font_size=14.0)
    yield from _marks(_done(steak), x, middle, zero_t)


def _short(name: str) -> str:
    return name if len(name) <= 5 else f"{name[:4]}…"


def _done(steak: SteakFacts) -> list[_Tick]:
    """The marks of a steak, by time; what the facts hold beside the marks as well."""
    ticks = [
        _Tick(m.t, _MARKS.get(m.mark, m.mark.value)) for m in steak.marks if m.mark not in _LID
    ]
    known = {tick.words for tick in ticks}
    for words, t in (
        ("on", steak.on_t),
        ("off", steak.off_t),
        ("box", steak.boxed_t),
        ("in", steak.handed_in_t),
    ):
        if t is not None and words not in known:
            ticks.append(_Tick(t, words))
    return sorted(ticks, key=lambda tick: tick.t)


def _marks(ticks: Sequence[_Tick], x: Scale, middle: float, zero_t: float) -> Iterator[Markup]:
    """A tick for each mark, with its word below; words move apart rather than overlap."""
    seen = [tick for tick in ticks if x.holds(tick.t - zero_t)]
    if not seen:
        return
    widest = max(len(tick.words) for tick in seen) * _LETTER + 3.0
    places = [x.at(tick.t - zero_t) for tick in seen]
    half = widest / 2.0
    for tick, at, word_at in zip(
        seen,
        places,
        spread(places, widest, x.start + half - 12.0, x.end - half + 12.0),
        strict=True,
    ):
        yield line((at, middle), (word_at, middle + 8.0), 1.5)
        yield text((word_at, middle + 19.0), tick.words, "middle")


def _calls(calls: Sequence[Said], x: Scale, middle: float, zero_t: float) -> Iterator[Markup]:
    """A tick for each call; the pull's leads are written out before the first of them."""
    pulls, words = list[float](), list[str]()
    for said in calls:
        at = said.t - zero_t
        if not x.holds(at):
            continue
        if said.call in (CallKind.TURN, CallKind.FLIP):
            yield line((x.at(at), middle - 6.0), (x.at(at), middle))
        elif said.call in (CallKind.PULL_SOON, CallKind.PULL_HOLD, CallKind.PULL_NOW):
            pulls.append(x.at(at))
            words.append(_pull_words(said))
            height = 15.0 if said.call == CallKind.PULL_NOW else 10.0
            yield line((x.at(at), middle - height), (x.at(at), middle), 1.5)
    if pulls:
        told = " ".join(words)
        yield text((min(pulls) - 4.0, middle - 7.0), told, "end")


def _pull_words(said: Said) -> str:
    if said.call == CallKind.PULL_NOW:
        return "now"
    lead = _LEAD.search(said.text)
    word = lead[1] if lead else "soon"
    return f"hold {word}" if said.call == CallKind.PULL_HOLD else word
