"""A cook file that was imported or restored, run through the core as a start or a replay does."""

from __future__ import annotations

from dataclasses import asdict

from pullcall.core.cook import Cook
from pullcall.errors import LogFormatError
from pullcall.events import Call, Forecast
from pullcall.log.call_records import call_record, forecast_record
from pullcall.log.cook_file import parse_cook_lines
from tests.fuzz.honest import check_json
from tests.fuzz.target import Target
from tests.fuzz.targets.cook_file import WORDS, seeds

#: Seconds of a cook that are run here, and inputs taken: what is longer is a matter of patience.
_LONGEST_S, _MOST_INPUTS = 90.0, 20


def check(data: bytes) -> None:
    """Whatever its settings and inputs are, the core goes on, and says what can be sent."""
    try:
        file = parse_cook_lines(data.decode("utf-8", "replace").split("\n"))
    except LogFormatError:
        return
    inputs = [event for event in file.inputs if event.t <= _LONGEST_S][:_MOST_INPUTS]
    cook = Cook(file.header)
    effects = [effect for event in inputs for effect in cook.apply(event)]
    effects += cook.advance(max([event.t for event in inputs], default=0.0) + 2.0)
    for effect in effects:
        if isinstance(effect, Forecast):
            check_json(forecast_record(effect))
        elif isinstance(effect, Call):
            check_json(call_record(effect))
    check_json([asdict(proposal) for proposal in cook.proposals()])


_HEAD = (
    b'{"record":"cook","version":1,"cook":"c","started":"2026-06-13T13:40:00Z","steaks":[{"steak":'
    b'"left","thickness_mm":%s,"start_c":%s,"pull_c":%s,"channel":"a/1"}],"plan":[{"t":%s,"mark":'
    b'"flip"}],"window":{"opens":"2026-06-13T14:00:00Z","closes":"2026-06-13T14:30:00Z"}}\n'
)
_BODY = (
    b'{"record":"reading","t":1,"steak":"left","celsius":5,"channel":"a/1"}\n'
    b'{"record":"mark","t":2,"steak":null,"mark":"on","id":"m"}\n'
    b'{"record":"reading","t":9,"steak":"left","celsius":9,"channel":"a/1"}\n'
    b'{"record":"spot","t":20,"steak":"left","celsius":30,"id":"s"}\n'
    b'{"record":"mark","t":40,"steak":"left","mark":"off","id":"o","at":30}\n'
    b'{"record":"undo","t":50,"id":"m"}\n{"record":"end","t":60}\n'
)

TARGET = Target(
    check,
    (
        *(seed for seed in seeds() if len(seed) < 3000),
        _HEAD % (b"32", b"5", b"53.9", b"120") + _BODY,
        _HEAD % (b"0", b"5", b"53.9", b"1") + _BODY,
        _HEAD % (b"-3", b"1e8", b"-1e8", b"-5") + _BODY,
        _HEAD % (b"1e-9", b"-1e8", b"1e8", b"1e8") + _BODY,
        _HEAD % (b"1e8", b"5", b"5", b"0") + _BODY,
    ),
    WORDS,
    longest=3000,
    weight=5,
)
