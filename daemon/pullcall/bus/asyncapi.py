"""``python -m pullcall.bus.asyncapi``: writes what a site publishes as AsyncAPI 3, beside this
module.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from pullcall.bus.channels import CALL, EVERY, PRESENCE, RECORD, ROOT, Channel
from pullcall.bus.connection import KEEPALIVE_S
from pullcall.bus.examples import EXAMPLES
from pullcall.bus.options import SITE
from pullcall.bus.schemas import RECORD as RECORD_SCHEMA
from pullcall.bus.schemas import reference, schemas

FILE = Path(__file__).with_name("asyncapi.json")
Json = dict[str, Any]
#: The version of the MQTT bindings, as published beside AsyncAPI 3.0.
_BINDING = "0.2.0"
_ABOUT = """\
What a site publishes at an MQTT 5 broker. Times `t` are seconds on the cook's own clock, \
temperatures are Celsius, texts are UTF-8. Every message carries the user properties `epoch` and \
`seq`. A reader ignores keys that it does not know. State is retained; after an outage it is \
published as it stands then, and each `record` that the broker did not confirm is sent again."""


def description() -> Json:
    """The AsyncAPI document of the channels as they are."""
    return {
        "asyncapi": "3.0.0",
        "info": {
            "title": "A Pullcall site",
            "version": f"{ROOT.rpartition('/')[2]}.0.0",
            "description": _ABOUT,
            "license": {"name": "MIT"},
        },
        "defaultContentType": "application/json",
        "servers": {"example": _server()},
        "channels": {channel.name: _channel(channel) for channel in EVERY},
        "operations": {f"send_{channel.name}": _operation(channel) for channel in EVERY},
        "components": {
            "schemas": schemas() | _headers(),
            "parameters": _PARAMETERS,
            "securitySchemes": _SECURITY,
        },
    }


def text() -> str:
    """The file's content."""
    return json.dumps(description(), indent=1, ensure_ascii=False) + "\n"


def payload_schema(channel: Channel) -> str:
    """The name of the schema of what is on a channel."""
    return RECORD_SCHEMA if channel.payload is None else channel.payload.__name__


def _server() -> Json:
    will = {"topic": _address(PRESENCE), "qos": PRESENCE.qos, "retain": PRESENCE.retained}
    return {
        "host": "broker.example:8883",
        "protocol": "secure-mqtt",
        "protocolVersion": "5.0",
        "description": "Any MQTT 5 broker; port and protocol are `mqtt` and 1883 without TLS.",
        "security": [
            {"$ref": "#/components/securitySchemes/password"},
            {"$ref": "#/components/securitySchemes/certificate"},
        ],
        "bindings": {
            "mqtt": {
                "cleanSession": True,
                "keepAlive": KEEPALIVE_S,
                "lastWill": will | {"message": '{"state":"lost"}'},
                "bindingVersion": _BINDING,
            }
        },
    }


def _channel(channel: Channel) -> Json:
    names = ["site", "lane"] if "{lane}" in channel.address else ["site"]
    return {
        "address": _address(channel),
        "summary": f"{channel.summary}.",
        "parameters": {name: {"$ref": f"#/components/parameters/{name}"} for name in names},
        "messages": {channel.name: _message(channel)},
    }


def _address(channel: Channel) -> str:
    return f"{ROOT}/{{site}}/{channel.address}"


def _message(channel: Channel) -> Json:
    return {
        "name": channel.name,
        "contentType": "application/json",
        "headers": reference(_HEADERS_OF.get(channel.name, "Headers")),
        "payload": reference(payload_schema(channel)),
        "examples": [{"payload": example} for example in EXAMPLES[channel.name]],
    }


def _operation(channel: Channel) -> Json:
    """What the site does; a board and everybody else does the opposite."""
    place = f"#/channels/{channel.name}"
    at_most = {"type": "integer", "minimum": 1, "maximum": channel.expires_s}
    return {
        "action": "send",
        "channel": {"$ref": place},
        "messages": [{"$ref": f"{place}/messages/{channel.name}"}],
        "bindings": {
            "mqtt": {
                "qos": channel.qos,
                "retain": channel.retained,
                "messageExpiryInterval": at_most if channel is CALL else channel.expires_s,
                "bindingVersion": _BINDING,
            }
        },
    }


_EPOCH = "The site's way to the broker since it began anew; of a record the cook's id."
_SEQ = """\
A decimal number that only grows within an epoch; of a call its number among the calls, of a \
record its number in the log: one that comes twice has the same."""
_UNTIL = """\
Until when it is true, by the site's own time of day (ISO 8601, UTC, milliseconds). What is older \
is not to be told: the broker's expiry alone does not hold up what stood still on the way."""
_LATE = "It was logged more than ten seconds before it was sent."
_MOMENT = r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}\.\d{3}Z$"
_ORDER: Json = {
    "epoch": {"type": "string", "minLength": 1, "description": _EPOCH},
    "seq": {"type": "string", "pattern": "^[0-9]+$", "description": _SEQ},
}
#: Of which channels the user properties are others than everywhere else.
_HEADERS_OF = {
    PRESENCE.name: "PresenceHeaders",
    CALL.name: "CallHeaders",
    RECORD.name: "RecordHeaders",
}


def _headers() -> Json:
    """User properties are texts, whatever they mean."""
    numbered = {"type": "object", "properties": _ORDER, "required": ["epoch", "seq"]}
    late = {"const": "1", "description": _LATE}
    until = {"type": "string", "pattern": _MOMENT, "description": _UNTIL}
    return {
        "Headers": numbered | {"description": "The user properties of a message."},
        "PresenceHeaders": {
            "description": "The user properties of a presence; the last will has none.",
            "type": "object",
            "properties": _ORDER,
        },
        "CallHeaders": {
            "description": "The user properties of a call.",
            "type": "object",
            "properties": _ORDER | {"until": until},
            "required": ["epoch", "seq", "until"],
        },
        "RecordHeaders": numbered
        | {
            "description": "The user properties of a record.",
            "properties": _ORDER | {"late": late},
        },
    }


_PARAMETERS: Json = {
    "site": {
        "description": f"The site's id, of the form `{SITE.pattern}`.",
        "examples": ["north"],
    },
    "lane": {
        "description": "Which of the cook's steaks; `cook` has their names.",
        "enum": ["1", "2"],
    },
}
_SECURITY: Json = {
    "password": {"type": "userPassword", "description": "A site may write below its own id."},
    "certificate": {"type": "X509", "description": "A client certificate, where asked for."},
}


if __name__ == "__main__":
    FILE.write_text(text(), encoding="utf-8")
