"""Topics of gateways, and the channels that come of them."""

from __future__ import annotations

import hashlib
import re

#: What every channel of a probe heard over MQTT begins with; no Bluetooth address does.
PREFIX = "mqtt:"
#: Levels of a topic that stand for a device, at most.
_MOST_LEVELS = 4
_LONGEST = 200
#: A level that stands in a channel as it is; of any other a sum is added, so that no two meet.
_PLAIN = re.compile(r"[A-Za-z0-9_.:-]{1,32}")
_UNSAFE = re.compile(r"[^A-Za-z0-9_.:-]+")
#: Characters of a changed level that are kept for people, and digits of the sum.
_KEPT, _SUM = 20, 12


def is_over_mqtt(channel: str) -> bool:
    """Whether a channel is one of a gateway's."""
    return channel.startswith(PREFIX)


def check_filter(text: str) -> str:
    """A filter as it is. Raises ValueError, saying what to write, for one that is not served."""
    levels = text.split("/")
    if not text or len(text) > _LONGEST or not text.isprintable():
        raise ValueError(f"a topic has 1 to {_LONGEST} printable characters")
    if "#" in text:
        raise ValueError('"#" would bring in everything: put "+" in place of each level')
    if text.startswith("$"):
        raise ValueError("what begins with \"$\" is the broker's own: name a gateway's topic")
    if any("+" in level and level != "+" for level in levels):
        raise ValueError('"+" stands for a whole level, as in "gateway/+/temperature"')
    if levels.count("+") > _MOST_LEVELS:
        raise ValueError(f'at most {_MOST_LEVELS} levels can be "+"')
    return text


class TopicFilter:
    """One filter; each ``+`` is a level of a device's own."""

    def __init__(self, text: str) -> None:
        self.has_devices = "+" in text.split("/")
        levels = ("([^/]*)" if level == "+" else re.escape(level) for level in text.split("/"))
        self._pattern = re.compile("/".join(levels), re.DOTALL)

    def levels(self, topic: str) -> tuple[str, ...] | None:
        """The device's levels of a topic; None for a topic that this filter does not bring in."""
        found = self._pattern.fullmatch(topic)
        return None if found is None else found.groups()


def device_of(name: str, levels: tuple[str, ...] = ()) -> str:
    """The device's part of a channel: always the same for these levels, and for no others of a
    filter."""
    if not levels:
        return f"{PREFIX}{name}"
    joined = "-".join(levels)
    is_clear = len(levels) == 1 or "-" not in "".join(levels)
    if is_clear and _PLAIN.fullmatch(joined) and all(levels):
        return f"{PREFIX}{name}-{joined}"
    digest = hashlib.sha256("/".join(levels).encode("utf-8", "surrogatepass")).hexdigest()
    kept = _UNSAFE.sub("_", joined)[:_KEPT]
    return f"{PREFIX}{name}-{kept}~{digest[:_SUM]}"
