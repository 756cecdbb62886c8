"""Paths and topics as the settings declare them, and documents and topics that meet them."""

from __future__ import annotations

import json
from contextlib import suppress

from pullcall.sources.mqtt.numbers import number_of, shown
from pullcall.sources.mqtt.paths import compile_path
from pullcall.sources.mqtt.topics import TopicFilter, check_filter, device_of
from tests.fuzz.cards import Cards
from tests.fuzz.honest import check_words
from tests.fuzz.target import Target

_DOCUMENT = json.loads('{"a":[{"b":1,"c":"xx"},{"b":[2,{"b":-1.5}]}],"t":54.3,"":null,"n":true}')
_MOST = 16


def check(data: bytes) -> None:
    """A line each: a path, a filter, a topic."""
    cards = Cards(data)
    path, filter_, topic = (cards.line().decode("utf-8", "replace") for _ in range(3))
    with suppress(ValueError):
        _look(path)
    try:
        text = check_filter(filter_)
    except ValueError as error:
        check_words(str(error))
        return
    levels = TopicFilter(text).levels(topic)
    if levels is not None:
        device = device_of("probe", levels)
        assert device.startswith("mqtt:probe") and device.isprintable() and len(device) <= 76
        assert device.isascii()
        assert "/" not in device


def _look(text: str) -> None:
    try:
        path = compile_path(text)
    except ValueError as error:
        check_words(str(error))
        raise
    # The reader of messages takes whatever an odd path raises for a refusal.
    with suppress(Exception):
        found = path.results(_DOCUMENT, _MOST)
        assert len(found) <= _MOST
        for value in found:
            if number_of(value) is None:
                check_words(shown(value))


TARGET = Target(
    check,
    (
        b"$.a[*].b\ngate/+/t\ngate/one/t",
        b"$..b\n+/+\n/",
        b"$.a[?@.b>1 && @.c=='xx']\nx\nx",
        b"$[?search(@.c,'x+')]\n+/a/+\n\xe2\x80\xae/a/b-c",
        b"$['a'][0:10:2]\na/+\na/\xff\x00",
    ),
    (b"$..", b"[*]", b"[?@.", b"match(", b"search(", b"length(", b"count(", b"value(", b"&&",
     b"(" * 9),
    longest=300,
)  # fmt: skip
