"""The columns of the logbook's table, named once: the files and their schema come from here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from pullcall.hindsight.facts import CookFacts, LeadScore, SteakFacts
from pullcall.logbook.entry import Row, SteakRow

Value = str | float | bool | None


class Type(StrEnum):
    """Types of the Frictionless Table Schema that the table has."""

    STRING = "string"
    NUMBER = "number"
    BOOLEAN = "boolean"
    DATETIME = "datetime"


@dataclass(frozen=True, slots=True)
class Line:
    """One steak of one cook, with what is known of both; no facts before they are worked out."""

    row: Row
    steak: SteakRow
    cook_facts: CookFacts | None
    facts: SteakFacts | None


@dataclass(frozen=True, slots=True)
class Column:
    """A column: ``of`` gives its value in a line, None where there is none."""

    name: str
    type: Type
    description: str
    of: Callable[[Line], Value]
    unit: str = ""


def score_column(category: str, type: Type) -> Column:
    """A column for one category of the contest's scores."""

    def of(line: Line) -> Value:
        score = line.row.scores.get(category)
        return score if score is None or type is Type.NUMBER else _plain(score)

    return Column(f"score_{category}", type, f"the judges' score for {category}", of)


def _plain(score: float | str) -> str:
    return score if isinstance(score, str) else f"{score:g}"


def _moment(text: str | None) -> str | None:
    """A wall time in UTC as the Table Schema writes it; None for a text that is no time."""
    try:
        moment = datetime.fromisoformat(text or "").astimezone(UTC)
    except (ValueError, OverflowError):
        return None
    return f"{moment:%Y-%m-%dT%H:%M:%SZ}"


def _lead(line: Line, lead_s: float) -> LeadScore | None:
    leads = line.facts.leads if line.facts else ()
    return next((lead for lead in leads if lead.lead_s == lead_s), None)


def _error(lead_s: float) -> Callable[[Line], Value]:
    def of(line: Line) -> Value:
        lead = _lead(line, lead_s)
        return lead.error_s if lead else None

    return of


def _band_held(line: Line) -> Value:
    lead = _lead(line, 40.0)
    return lead.is_covered if lead else None


def _seen(of: Callable[[SteakFacts], float | None]) -> Callable[[Line], Value]:
    return lambda line: of(line.facts) if line.facts else None


def _whole(of: Callable[[CookFacts], float | None]) -> Callable[[Line], Value]:
    return lambda line: of(line.cook_facts) if line.cook_facts else None


def _between(begin: float | None, end: float | None) -> float | None:
    return None if begin is None or end is None else end - begin


def _peak_error(facts: SteakFacts) -> float | None:
    return next((peak.error_c for peak in facts.peaks if peak.after_off_s == 0.0), None)


def _left_of_window(facts: CookFacts) -> float | None:
    return _between(facts.handed_in_t, facts.window_t[1] if facts.window_t else None)


_S, _N, _B, _D = Type.STRING, Type.NUMBER, Type.BOOLEAN, Type.DATETIME
COLUMNS = (
    Column("cook", _S, "the cook's id", lambda x: x.row.cook),
    Column("steak", _S, "the steak's name", lambda x: x.steak.steak),
    Column("started", _D, "the cook's zero, UTC", lambda x: _moment(x.row.started)),
    Column("ended", _D, "its end, UTC", lambda x: _moment(x.row.ended)),
    Column("simulated", _B, "whether it was simulated", lambda x: x.row.simulated),
    Column("place", _S, "where", lambda x: x.row.place or None),
    Column("contest", _S, "for which contest", lambda x: x.row.contest or None),
    Column("tags", _S, "tags, separated by commas", lambda x: ", ".join(x.row.tags) or None),
    Column("notes", _S, "notes of the cook", lambda x: x.row.notes or None),
    Column("steak_notes", _S, "notes of the steak", lambda x: x.steak.notes or None),
    Column("thickness_mm", _N, "thickness", lambda x: x.steak.thickness_mm, "mm"),
    Column("weight_g", _N, "weight", lambda x: x.steak.weight_g, "g"),
    Column("start_c", _N, "core before on", lambda x: x.steak.start_c, "Cel"),
    Column("pull_c", _N, "pull temperature at off", lambda x: x.steak.pull_c, "Cel"),
    Column("off_c", _N, "core at off", lambda x: x.steak.off_c, "Cel"),
    Column("peak_c", _N, "highest core after off", lambda x: x.steak.peak_c, "Cel"),
    Column("carry_over_c", _N, "peak less core at off", _seen(lambda f: f.climb_c), "Cel"),
    Column(
        "carry_over_told_c",
        _N,
        "carry-over forecast at off",
        _seen(lambda f: f.climb_told_c.p50 if f.climb_told_c else None),
        "Cel",
    ),
    Column("peak_error_c", _N, "peak forecast at off less peak", _seen(_peak_error), "Cel"),
    Column("on_grate_s", _N, "from on to off", lambda x: x.steak.on_grate_s, "s"),
    Column(
        "to_pull_s",
        _N,
        "from on until the core crossed the pull temperature",
        _seen(lambda f: _between(f.on_t, f.cross_t)),
        "s",
    ),
    Column(
        "late_off_s",
        _N,
        "off less crossing, negative where it came off early",
        _seen(lambda f: _between(f.cross_t, f.off_t)),
        "s",
    ),
    Column("reaction_s", _N, 'from "pull now" to off', _seen(lambda f: f.reaction_s), "s"),
    Column("forecast_error_60s_s", _N, "60 s ahead: told less true time", _error(60.0), "s"),
    Column("forecast_error_40s_s", _N, "40 s ahead: told less true time", _error(40.0), "s"),
    Column("forecast_error_20s_s", _N, "20 s ahead: told less true time", _error(20.0), "s"),
    Column("band_held", _B, "whether the truth lay in the band 40 s ahead", _band_held),
    Column("fire_c", _N, "grate as the first steak went on", lambda x: x.row.fire_c, "Cel"),
    Column("fire_low_c", _N, "lowest grate until off", _whole(lambda f: f.fire.low_c), "Cel"),
    Column("fire_high_c", _N, "highest grate until off", _whole(lambda f: f.fire.high_c), "Cel"),
    Column("rest_on", _S, "what it rested on", lambda x: x.row.rest_on),
    Column("rest_board", _S, "which board", lambda x: x.row.rest_board or None),
    Column(
        "handed_in",
        _B,
        "whether this steak went into the box",
        lambda x: x.row.handed_in == x.steak.steak if x.row.handed_in else None,
    ),
    Column("hand_in", _D, "when the box was handed in, UTC", lambda x: _moment(x.row.hand_in_wall)),
    Column("in_window", _B, "whether that was in the window", lambda x: x.row.in_window),
    Column("window_left_s", _N, "left of the window then", _whole(_left_of_window), "s"),
    Column(
        "chance_at_on", _N, "chance told as the first went on", _whole(lambda f: f.chance_at_on)
    ),
)
