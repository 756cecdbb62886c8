"""Who reads a device by the rules of the Homie convention, and complains where it breaks one.

Source: homieiot.github.io, convention 5.0 (May 2025): topic ids, payloads, device life cycle.
"""

from __future__ import annotations

import json
import re
from datetime import datetime
from typing import Any

_ID = re.compile(r"[a-z0-9-]+")
_INTEGER = re.compile(r"-?\d+")
_FLOAT = re.compile(r"-?\d+(\.\d+)?([eE]-?\d+)?")
_STATES = ("init", "ready", "disconnected", "sleeping", "lost")
#: The fields of a property, and whether each must be there.
_FIELDS = {
    "name": False, "datatype": True, "format": False,
    "settable": False, "retained": False, "unit": False,
}  # fmt: skip


class Controller:
    """Takes the messages of one device as a broker hands them out."""

    def __init__(self) -> None:
        self.states: list[str] = []
        self.descriptions: list[dict[str, Any]] = []
        self.values: dict[str, str] = {}
        self.device = ""

    def take(self, topic: str, payload: bytes, retained: bool = True) -> None:
        """Take one message; all of a device whose properties are retained are retained."""
        assert retained
        root, version, device, *rest = topic.split("/")
        assert (root, version) == ("homie", "5")
        assert _ID.fullmatch(device) and self.device in ("", device)
        self.device = device
        text = payload.decode("utf-8")
        if rest == ["$state"]:
            assert text in _STATES
            self.states.append(text)
        elif rest == ["$description"]:
            assert self.states[-1:] != ["ready"], "it may not change while the device is ready"
            self._describe(json.loads(text))
        else:
            self._value(rest, text)

    def node(self, id: str) -> dict[str, Any]:
        """A node as last described."""
        found: dict[str, Any] = self.descriptions[-1]["nodes"][id]
        return found

    def _describe(self, document: dict[str, Any]) -> None:
        assert document["homie"] == "5.0"
        assert type(document["version"]) is int and document["name"]
        assert document.keys() <= {"homie", "version", "name", "nodes", "type"}
        for id, node in document["nodes"].items():
            assert _ID.fullmatch(id) and node.keys() <= {"name", "type", "properties"}
            for name, described in node["properties"].items():
                assert _ID.fullmatch(name) and described.keys() <= _FIELDS.keys()
                assert all(key in described for key, must in _FIELDS.items() if must)
                assert described["datatype"] != "enum" or described["format"]
        self.descriptions.append(document)

    def _value(self, place: list[str], text: str) -> None:
        node, name = place
        if text == "":  # it is to be forgotten, described or not
            self.values.pop(f"{node}/{name}", None)
            return
        described = self.node(node)["properties"][name]
        assert _is_valid(text, described["datatype"], described.get("format", "")), (place, text)
        self.values[f"{node}/{name}"] = text


def _is_valid(text: str, datatype: str, format: str) -> bool:
    if datatype == "integer":
        return bool(_INTEGER.fullmatch(text)) and _is_within(float(text), format)
    if datatype == "float":
        return bool(_FLOAT.fullmatch(text)) and _is_within(float(text), format)
    if datatype == "enum":
        return text in format.split(",")
    if datatype == "datetime":
        return datetime.fromisoformat(text).tzinfo is not None
    return datatype == "string" and (text == "\0" or "\0" not in text)


def _is_within(value: float, format: str) -> bool:
    low, _, high = format.partition(":")
    return (not low or float(low) <= value) and (not high or value <= float(high))
