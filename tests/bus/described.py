"""What the committed AsyncAPI file says of a message, for tests that hold messages to it.

Nothing here knows the code that made the file: it is read as a stranger would read it.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import Any

import aiomqtt
from jsonschema import Draft7Validator

from pullcall.bus.asyncapi import FILE

Json = dict[str, Any]
DOCUMENT: Json = json.loads(FILE.read_text(encoding="utf-8"))


@dataclass(frozen=True, slots=True)
class Described:
    """A channel of the file, and its one message and operation."""

    name: str
    message: Json
    mqtt: Json

    def complaints(self, payload: bytes, headers: dict[str, str]) -> list[str]:
        """What the file has against a message."""
        said = _complaints(self.message["payload"], json.loads(payload))
        return said + _complaints(self.message["headers"], headers)


def described(topic: str) -> Described | None:
    """The channel of a topic; None where the file has none."""
    found = [name for name in DOCUMENT["channels"] if _address(name).fullmatch(topic)]
    if not found:
        return None
    (name,) = found
    (message,) = DOCUMENT["channels"][name]["messages"].values()
    (operation,) = [
        one
        for one in DOCUMENT["operations"].values()
        if one["channel"] == {"$ref": f"#/channels/{name}"}
    ]
    return Described(name, message, operation["bindings"]["mqtt"])


def check(message: aiomqtt.Message) -> None:
    """Hold a message to the file: payload, user properties, quality, expiry."""
    told = described(str(message.topic))
    assert told is not None, message.topic
    properties = message.properties
    assert isinstance(message.payload, bytes)
    if message.payload:  # an empty one takes back what was retained
        headers = dict(getattr(properties, "UserProperty", []))
        assert told.complaints(message.payload, headers) == [], message.topic
    assert message.qos == told.mqtt["qos"], message.topic
    most = told.mqtt["messageExpiryInterval"]
    left = getattr(properties, "MessageExpiryInterval", 0)
    assert 0 < left <= (most if isinstance(most, int) else most["maximum"]), message.topic


def _address(name: str) -> re.Pattern[str]:
    """A topic of the channel; parameters are as the file says."""
    channel = DOCUMENT["channels"][name]
    parts = re.split(r"\{(\w+)\}", channel["address"])
    pattern = "".join(
        re.escape(part) if k % 2 == 0 else _parameter(part) for k, part in enumerate(parts)
    )
    return re.compile(pattern)


def _parameter(name: str) -> str:
    enum = DOCUMENT["components"]["parameters"][name].get("enum")
    return f"(?:{'|'.join(enum)})" if enum else "[^/]+"


def _complaints(schema: Json, value: object) -> list[str]:
    """Whatever is wrong; keys that the schema does not know are allowed by it."""
    whole = {"components": DOCUMENT["components"], **schema}
    # A reference beside other keys is all that counts in draft 07, and it is found in ``whole``.
    validator = Draft7Validator(whole)
    return [f"{error.json_path}: {error.message}" for error in validator.iter_errors(value)]
