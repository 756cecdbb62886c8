"""What the daemon has confirmed to somebody: from then on it must never be lost."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from tests.crash.life import Heard

Message = dict[str, Any]
#: What names a record of the log whatever its time; two of one name may both be confirmed.
Key = tuple[Any, ...]


def key_of(record: Message) -> Key | None:
    """What a person's record, or a probe's, is known by; None for those nobody waits for."""
    match record.get("record"):
        case "mark":
            return ("mark", record["id"], record["mark"], record["steak"], record.get("at"))
        case "spot":
            return ("spot", record["id"], record["steak"], record["celsius"])
        case "reading":
            return ("reading", record["t"], record.get("channel"), record["celsius"])
        case "setting":
            return ("setting", record["steak"], record["name"], record["value"])
        case "undo":
            return ("undo", record["id"])
        case "ack":
            return ("ack", record["call"], record["by"])
        case "shelve":
            return ("shelve", record["call"], record["by"], record["for_s"])
        case "note":
            return ("note", record["steak"], record["name"], record["value"])
        case _:
            return None


@dataclass
class Acknowledged:
    """Of one cook. ``calls`` are those announced, by id and moment."""

    records: Counter[Key] = field(default_factory=Counter)
    calls: dict[tuple[str, float], Message] = field(default_factory=dict)

    def confirm(self, record: Message) -> None:
        """A request was answered: this record has to stand in the log."""
        key = key_of(record)
        assert key is not None, record
        self.records[key] += 1

    def hear(self, heard: Iterable[Heard]) -> list[str]:
        """A page heard these in one life; gives what was announced twice as new."""
        twice: list[str] = []
        here: set[tuple[str, float]] = set()
        for message in (h.message for h in heard):
            if message["type"] == "reading":
                self.confirm({"record": "reading", **message})
            elif message["type"] == "call":
                at = (message["id"], message["t"])
                # Nobody was heard to sound it: every page is told once more, and told so.
                is_again = at in here and message["insistent"]
                if at in self.calls and not is_again:
                    twice.append(f"{message['text']!r} of {message['t']} s was announced twice")
                here.add(at)
                self.calls.setdefault(at, message)
        return twice

    def missing(self, lines: Iterable[str]) -> list[str]:
        """What was confirmed and does not stand in the lines of the cook's file."""
        logged = Counter(key_of(json.loads(line)) for line in lines)
        return [f"lost: {key}" for key, n in self.records.items() if logged[key] < n]

    def unlogged_calls(self, lines: Iterable[str]) -> list[str]:
        """Calls that were announced and do not stand in the log as they were."""
        logged = {(c["id"], c["t"]): c for c in map(json.loads, lines)}
        return [
            f"announced but not logged: {call['text']!r} of {call['t']} s"
            for at, call in self.calls.items()
            if at not in logged or logged[at]["text"] != call["text"]
        ]
