"""The AsyncAPI file is what the code makes, valid, and says what is really sent."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft7Validator

from pullcall.bus.asyncapi import FILE, description, text
from pullcall.bus.channels import EVERY, Channel
from pullcall.core.omission import Omission, Span
from pullcall.events import Input, Mark, MarkKind, Spot
from pullcall.log.cook_file import cook_lines
from pullcall.log.omissions import omission_record
from pullcall.simulators.cookfile import inputs
from pullcall.simulators.scenario import scenario
from tests.asyncapi_specification import require_specification
from tests.bus.described import DOCUMENT, described

COOK_LOG = Path(__file__).parents[2] / "docs" / "cook-log.md"
UNTIL = {"until": "2026-06-13T12:00:03.750Z"}
HEADERS = {"epoch": "a1", "seq": "7"}


def schema(name: str) -> dict[str, Any]:
    found: dict[str, Any] = DOCUMENT["components"]["schemas"][name]
    return found


def complaints(topic: str, body: object, headers: dict[str, str] = HEADERS) -> list[str]:
    channel = described(topic)
    assert channel is not None, topic
    return channel.complaints(json.dumps(body).encode(), headers)


def test_the_committed_file_is_what_the_code_makes() -> None:
    assert FILE.read_text(encoding="utf-8") == text(), (
        "what a site publishes changed: run `python -m pullcall.bus.asyncapi`, commit the file"
    )


def test_it_is_valid_by_the_schema_of_the_specification() -> None:
    """Source: the JSON schema of AsyncAPI 3.0.0 that its makers publish."""
    specification = require_specification()
    assert list(Draft7Validator(specification).iter_errors(DOCUMENT)) == []


def test_that_schema_refuses_a_broken_document() -> None:
    """Or the test before would show nothing."""
    broken = description()
    broken["operations"]["send_pulse"]["bindings"]["mqtt"]["qos"] = 3
    assert list(Draft7Validator(require_specification()).iter_errors(broken)) != []


@pytest.mark.parametrize("name", DOCUMENT["components"]["schemas"])
def test_its_schemas_are_valid_in_the_draft_of_asyncapi(name: str) -> None:
    Draft7Validator.check_schema(schema(name))
    assert not {"prefixItems", "$defs"} & set(json.dumps(schema(name)).split('"'))


def test_every_reference_leads_somewhere() -> None:
    for place in re.findall(r'"\$ref": "#/([^"]+)"', FILE.read_text(encoding="utf-8")):
        found: Any = DOCUMENT
        for step in place.split("/"):
            found = found[step]


@pytest.mark.parametrize("channel", EVERY, ids=lambda channel: channel.name)
def test_each_channel_is_there_as_it_is_sent(channel: Channel) -> None:
    found = described(channel.topic("north", 2))
    assert found is not None
    assert found.name == channel.name
    assert (found.mqtt["qos"], found.mqtt["retain"]) == (channel.qos, channel.retained)
    expires = found.mqtt["messageExpiryInterval"]
    most = expires if isinstance(expires, int) else expires["maximum"]
    assert most == channel.expires_s


@pytest.mark.parametrize("channel", EVERY, ids=lambda channel: channel.name)
def test_its_examples_are_valid_and_read_by_the_models(channel: Channel) -> None:
    message = DOCUMENT["channels"][channel.name]["messages"][channel.name]
    for example in message["examples"]:
        assert complaints(channel.topic("north", 1), example["payload"], HEADERS | UNTIL) == []
        if channel.payload is not None:
            channel.payload.model_validate(example["payload"])


@pytest.mark.parametrize(
    ("topic", "body"),
    [
        ("steak/1/reading", {"t": "now", "celsius": 50.0}),
        ("steak/1/reading", {"t": 1.0, "celsius": 5000.0}),
        ("steak/1/curve", {"points": [[1.0, 20.0, 3.0]]}),
        ("presence", {"state": "asleep"}),
        ("record", {"record": "mark", "t": 1.0, "steak": None, "mark": "jump"}),
        ("record", {"record": "undo", "t": 1.0}),
        ("record", {"t": 1.0}),
    ],
)
def test_it_refuses_what_no_site_may_send(topic: str, body: object) -> None:
    assert complaints(f"pullcall/1/north/{topic}", body) != []


def test_a_message_without_its_number_is_refused_but_for_the_last_will() -> None:
    assert complaints("pullcall/1/north/steak/1/reading", {"t": 1.0, "celsius": 5.0}, {}) != []
    assert complaints("pullcall/1/north/presence", {"state": "lost"}, {}) == []


@pytest.mark.parametrize("until", [{}, {"until": "noon"}, {"until": "2026-06-13T12:00:03Z"}])
def test_a_call_that_does_not_say_until_when_it_is_true_is_refused(until: dict[str, str]) -> None:
    (example,) = DOCUMENT["channels"]["call"]["messages"]["call"]["examples"]
    topic = "pullcall/1/north/call"
    assert complaints(topic, example["payload"], HEADERS | UNTIL) == []
    assert complaints(topic, example["payload"], HEADERS | until) != []


def test_there_is_no_third_lane() -> None:
    assert described("pullcall/1/north/steak/3") is None


def test_every_line_of_a_simulated_cook_is_a_record_as_described() -> None:
    demo = scenario("demo")
    lines = list(cook_lines(demo.header(), inputs(demo)))
    assert len(lines) > 1000
    for line in [*lines[:400], *lines[-50:]]:
        assert complaints("pullcall/1/north/record", json.loads(line)) == []


ON = Mark(1.0, "left", MarkKind.ON, "m1")


@pytest.mark.parametrize("what", [ON, Span((Mark, Spot), 0.0, 9.0)])
def test_what_a_cook_goes_on_without_is_a_record_as_described(what: Input | Span) -> None:
    record = omission_record(Omission(12.0, what, 10.0, "KeyError"))
    assert complaints("pullcall/1/north/record", record) == []
    (missing,) = record.keys() & {"input", "span"}
    without = {key: value for key, value in record.items() if key != missing}
    assert complaints("pullcall/1/north/record", without) != []


def test_a_record_that_only_a_later_version_knows_passes() -> None:
    assert complaints("pullcall/1/north/record", {"record": "song", "t": 1.0, "name": "x"}) == []


def documented_records() -> dict[str, tuple[set[str], set[str]]]:
    """The records of docs/cook-log.md: the keys that are always there, and those that may be."""
    table = COOK_LOG.read_text(encoding="utf-8").split("| record | keys |")[1].split("\n\n")[0]
    found = {}
    for row in table.splitlines()[2:]:
        _, kind, keys, *_ = row.split("|")
        named = re.findall(r"`(\w+)`(\??)", keys)
        always = {key for key, may in named if not may}
        found[kind.strip(" `")] = (always, {key for key, may in named if may})
    return found


@pytest.mark.parametrize("kind", documented_records())
def test_a_record_has_the_keys_that_the_description_of_the_log_gives_it(kind: str) -> None:
    always, maybe = documented_records()[kind]
    told = schema(f"{kind.capitalize()}Record")
    assert set(told["required"]) - {"record"} == always
    assert set(told["properties"]) - {"record"} == always | maybe


def test_every_payload_says_what_it_is() -> None:
    for channel in EVERY:
        if channel.payload is not None:
            assert schema(channel.payload.__name__)["description"]
