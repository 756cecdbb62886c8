"""What the process that listens tells the daemon: one line of JSON for each."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, TypeAdapter, ValidationError

from pullcall.sources.decoding import Temperature, Verdict

_LONGEST_WORDS = 240
#: No declared range goes beyond, Celsius.
_HOTTEST_C = 1e5


def _sound(value: Temperature) -> Temperature:
    """The process that listens has met strangers: what it calls good must be so."""
    is_number = value.celsius is not None and abs(value.celsius) <= _HOTTEST_C
    if value.verdict is Verdict.GOOD and not is_number:
        raise ValueError("this is no good temperature")
    return value


Device = Annotated[str, Field(max_length=76)]
Words = Annotated[str, Field(max_length=_LONGEST_WORDS)]
Channel = Annotated[int, Field(ge=1, le=64)]
Sound = Annotated[Temperature, AfterValidator(_sound)]
Percent = Annotated[int, Field(ge=0, le=100)]
Count = Annotated[int, Field(ge=0, lt=2**31)]


@dataclass(frozen=True, slots=True)
class WayTold:
    """How the way to the broker is; told again and again as a sign of life.

    ``note`` is empty where it is open; ``troubles`` are what is wrong with single declarations, by
    their names.
    """

    note: Words
    troubles: dict[str, Words] = field(default_factory=dict)
    kind: Literal["way"] = "way"


@dataclass(frozen=True, slots=True)
class Heard:
    """The latest values of a device; ``refused`` counts what could not be read of it since."""

    probe: str
    device: Device
    values: dict[Channel, Sound] = field(default_factory=dict)
    battery_percent: Percent | None = None
    refused: Count = 0
    reason: Words = ""
    kind: Literal["heard"] = "heard"


@dataclass(frozen=True, slots=True)
class Kept:
    """The broker has kept an old message of a device."""

    probe: str
    device: Device
    kind: Literal["kept"] = "kept"


@dataclass(frozen=True, slots=True)
class Forgotten:
    """A device that is silent made way for another."""

    device: Device
    kind: Literal["forgotten"] = "forgotten"


Told = WayTold | Heard | Kept | Forgotten
_TOLD: TypeAdapter[Told] = TypeAdapter(Annotated[Told, Field(discriminator="kind")])


def fitting(text: str) -> str:
    """Words that a line can tell: a topic named in them may be long."""
    return text if len(text) <= _LONGEST_WORDS else f"{text[: _LONGEST_WORDS - 1]}…"


def line_of(told: Told) -> str:
    """One line of JSON."""
    return _TOLD.dump_json(told).decode()


def parse_line(line: bytes) -> Told:
    """What such a line tells. Raises ValueError for any other."""
    try:
        return _TOLD.validate_json(line)
    except ValidationError as exc:
        raise ValueError("this line tells nothing known") from exc
