"""Bodies of requests, from JSON through their models to what the core is asked."""

from __future__ import annotations

import json
import math
from typing import Any

from pydantic import BaseModel, TypeAdapter, ValidationError

from pullcall.api import access_models, logbook_models, models
from pullcall.api.board.models import PassBody
from pullcall.api.problem import _sentence
from pullcall.core.cook import Cook
from pullcall.core.setup import changed_setup, range_text
from pullcall.errors import RefusedError, UnknownNameError
from pullcall.events import CookHeader, Mark, Setting, Spot
from pullcall.log.records import input_record, parse_input
from pullcall.plan.wall import window_times
from tests.fuzz.cards import Cards
from tests.fuzz.honest import check_json, check_words
from tests.fuzz.target import Target

_BODIES: tuple[type[BaseModel], ...] = (
    models.MarkBody,
    models.SpotBody,
    models.AcknowledgementBody,
    models.ShelvingBody,
    models.AnswerBody,
    models.PhoneBody,
    models.ReceiptBody,
    models.SteakBody,
    models.CookSettingsBody,
    models.CookBody,
    logbook_models.NotesBody,
    logbook_models.ChoiceBody,
    access_models.PairingBody,
    access_models.InvitationBody,
    PassBody,
)
_ADAPTERS = [TypeAdapter(body) for body in _BODIES]
_HEADER = CookHeader("c", "2026-06-13T13:40:00+00:00")


def check(data: bytes) -> None:
    """A body of one kind; what the core takes of it is logged and read back as it was."""
    cards = Cards(data)
    adapter, content = cards.pick(_ADAPTERS), cards.rest()
    try:
        read = json.loads(content)
    except (ValueError, RecursionError):
        return  # answered with 400 by the framework
    try:
        body = adapter.validate_python(read)
    except ValidationError as error:
        for finding in error.errors():
            _sentence(dict(finding)).encode("utf-8", "surrogatepass")
        return
    _check_finite(body.model_dump())
    cook = Cook(_HEADER)
    try:
        _ask(cook, body)
    except (RefusedError, UnknownNameError) as error:
        check_words(str(error))


def _check_finite(value: Any) -> None:
    if isinstance(value, float):
        assert math.isfinite(value)
    for one in (
        value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    ):
        _check_finite(one)


def _ask(cook: Cook, body: BaseModel) -> None:
    match body:
        case models.MarkBody():
            _log(cook, Mark(5000.0, body.steak, body.mark, "m", round(5000.0 - body.ago_s, 3)))
        case models.SpotBody():
            _log(cook, Spot(5000.0, body.steak, round(body.celsius, 2), "s"))
        case models.SteakBody():
            for name, value in body.model_dump(exclude_unset=True).items():
                _log(cook, Setting(5000.0, "left", name, value))
        case models.CookSettingsBody():
            _settings(cook, body)
        case models.CookBody() if body.steaks:
            Cook(CookHeader("c", "", tuple(steak.settings() for steak in body.steaks)))
        case logbook_models.NotesBody():
            check_json([note.note_value() for note in body.notes]) if _is_text(body) else None


def _is_text(body: logbook_models.NotesBody) -> bool:
    """Half a character is refused by the logbook, behind this."""
    try:
        body.model_dump_json()
    except ValueError:
        return False
    return True


def _settings(cook: Cook, body: models.CookSettingsBody) -> None:
    plain = body.model_dump(exclude_unset=True, exclude={"window", "durations", "wall"})
    changes = list(plain.items())
    if body.window:
        try:
            window_times(body.window)
        except ValueError as error:
            check_words(str(error))
    changes += [
        (f"durations.{n}", None if r is None else range_text(r)) for n, r in body.durations.items()
    ]
    setup = cook.setup
    for name, value in changes:
        setting = Setting(5000.0, None, name, value)
        setup = changed_setup(setup, setting)
        _log(cook, setting)


def _log(cook: Cook, event: Mark | Spot | Setting) -> None:
    cook.check(event)
    record = json.loads(check_json(input_record(event)))
    assert parse_input(record) == event


def _seed(kind: type[BaseModel], body: object) -> bytes:
    return bytes([_BODIES.index(kind)]) + json.dumps(body).encode()


TARGET = Target(
    check,
    (
        _seed(models.MarkBody, {"mark": "on", "steak": "left", "ago_s": 30.0}),
        _seed(models.SpotBody, {"steak": "left", "celsius": 54.25}),
        _seed(models.SpotBody, {"steak": None, "celsius": 260.0}),
        _seed(models.AcknowledgementBody, {"call": "c1", "by": "x"}),
        _seed(models.ShelvingBody, {"call": "c1", "for_s": 60.0}),
        _seed(models.AnswerBody, {"proposal": "on:left:1", "is_so": True}),
        _seed(models.PhoneBody, {"phone": "abcd-1", "armed": True}),
        _seed(models.ReceiptBody, {"phone": "abcd-1", "call": "c1"}),
        _seed(models.SteakBody, {"pull_c": 54.0, "target_c": 57.0, "channel": "A/1", "look": "x"}),
        _seed(
            models.CookSettingsBody,
            {
                "rest_on": "board",
                "carry_over": "five_degrees",
                "window": "14:00-14:30",
                "aim_share": 0.5,
                "offset_s": 30.0,
                "durations": {"walk": "1-2 min", "box": None},
                "grate_channel": "G/1",
                "fire_floor_c": 250.0,
                "fire_ceiling_c": 400.0,
                "wall": "2026-06-13T14:00:00+02:00",
            },
        ),
        _seed(models.CookBody, {"steaks": [{"steak": "a", "thickness_mm": 38.0}, {"steak": "b"}]}),
        _seed(logbook_models.NotesBody, {"notes": [{"name": "tags", "value": ["a"]}]}),
        _seed(logbook_models.ChoiceBody, {"mode": "own", "value": 2.5}),
        _seed(access_models.PairingBody, {"code": "12345678", "name": "Ann's"}),
        _seed(access_models.InvitationBody, {"role": "watcher", "delay_s": 60, "lasts_s": 3600.0}),
        _seed(PassBody, {"secret": "1.link.9"}),
    ),
    (b'"steak":', b'"celsius":', b'"channel":"a/1"', b'"look":', b'"durations":{', b'"9-10 min"',
     b'"window":', b'"wall":"2099-12-31T23:59:59+14:00"', b'"pull_by":"target"', b'"value":'),
    longest=2000,
)  # fmt: skip
