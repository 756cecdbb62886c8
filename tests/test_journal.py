"""A rival writes into the journal: what it sends is in some of the lines."""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator

import pytest

from pullcall.buckets import Limit
from pullcall.journal import OF_A_KIND, Lines, Seldom

#: Colours, a cleared screen, a forged line, a line that runs backward, half of a letter.
HOSTILE = "\x1b[31m\x1b[2J\r\nleft: paired as cook\x9b8m\u202egp\udc80"


class Clock:
    def __init__(self) -> None:
        self.now = 100.0


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def written(clock: Clock) -> Iterator[tuple[logging.Logger, io.StringIO]]:
    out = io.StringIO()
    handler = logging.StreamHandler(out)
    handler.setFormatter(Lines())
    handler.addFilter(Seldom(Limit(0.1, 3), lambda: clock.now))
    logger = logging.Logger("journal")
    logger.addHandler(handler)
    yield logger, out


def test_a_message_is_one_line_of_what_prints(
    written: tuple[logging.Logger, io.StringIO],
) -> None:
    logger, out = written
    logger.warning("%s asked", HOSTILE)
    text = out.getvalue()
    assert text.count("\n") == 1
    assert text.endswith("asked\n")
    assert text.removesuffix("\n").isprintable()
    assert r"\x1b[31m\x1b[2J\r\nleft: paired as cook\x9b8m\u202egp\udc80" in text


def test_what_was_raised_stands_below_and_forges_no_message(
    written: tuple[logging.Logger, io.StringIO],
) -> None:
    logger, out = written
    try:
        raise ValueError(HOSTILE)
    except ValueError:
        logger.exception("a request failed")
    first, *below = out.getvalue().splitlines()
    assert first == "a request failed"
    assert below
    for line in below:
        assert line.startswith("    ")
        assert line.isprintable()


def test_a_flood_of_one_kind_is_cut_and_counted_and_hides_nothing_else(
    written: tuple[logging.Logger, io.StringIO],
) -> None:
    """A rival sends ten thousand requests that are none within a second."""
    logger, out = written
    for number in range(10_000):
        logger.warning("Invalid request %d.", number)
    logger.warning("The log cannot be written.")
    lines = out.getvalue().splitlines()
    assert lines == [*(f"Invalid request {n}." for n in range(3)), "The log cannot be written."]


def test_how_many_were_left_out_is_told_with_the_next(
    written: tuple[logging.Logger, io.StringIO], clock: Clock
) -> None:
    logger, out = written

    def flood(count: int) -> None:
        for number in range(count):
            logger.warning("Invalid request %d.", number)

    flood(10)
    clock.now += 10.0
    flood(2)
    assert out.getvalue().splitlines()[3:] == ["Invalid request 0. (and 7 more of this kind)"]


def test_a_day_of_a_flood_takes_little_room() -> None:
    """Of one kind, with 200 bytes a line: under two megabytes a day."""
    lines = OF_A_KIND.burst + OF_A_KIND.per_s * 86_400
    assert lines * 200 < 2e6
