"""What sites publish, as a board takes it: any topics, payloads and stamps, in any order."""

from __future__ import annotations

import json
from functools import cache

from pullcall.board.intake import Intake, Message
from pullcall.board.refusals import Refusals
from pullcall.board.roster import Roster
from pullcall.board.stamp import stamp_of
from pullcall.bus import channels
from pullcall.bus.examples import EXAMPLES
from pullcall.site.hub import Listener
from tests.fuzz.cards import Cards
from tests.fuzz.honest import check_json
from tests.fuzz.target import Target

_PLACES = [
    (site, channel, lane)
    for site in ("north", "south")
    for channel in channels.EVERY
    for lane in ((1, 2) if "{lane}" in channel.address else (None,))
]
_TOPICS = [channel.topic(site, lane) for site, channel, lane in _PLACES]
_EPOCHS = ("", "a", "b", "a" * 100)
_SEQS = ("", "0", "1", "2", "9" * 15, "9" * 16, "-1", "\u0663")
_LEFTS = (None, 0, 60, 86_400, -5, 2**32 - 1)
_START = 5000.0
#: Bytes of a page's snapshot, at most: what a site may say is bounded, and so is what it makes.
_LARGEST_SNAPSHOT = 4 * 1024 * 1024


@cache
def _seeds() -> tuple[bytes, ...]:
    """Each example of the table alone, then all of them of one site."""
    lines = [
        bytes([number, 0, 0]) + json.dumps(EXAMPLES[channel.name]).encode() + b"\n"
        for number, (_, channel, _) in enumerate(_PLACES)
    ]
    return (*lines, b"".join(lines[: len(lines) // 2]))


def check(data: bytes) -> None:
    """Lines of one message each; pages listen to both sites."""
    refusals, roster, now = Refusals(), Roster(), _START
    intake, pages = Intake(refusals), {}
    for line in data.split(b"\n"):
        intake.put(_message(line), now)
        while (message := intake.next(now)) is not None:
            roster.take(message.topic, message.payload, message.is_retained, message.stamp, now)
        for site in ("north", "south"):
            mirror = roster.site(site)
            if mirror is not None and site not in pages:
                pages[site] = mirror.hub.join()
        now += 0.7
        check_json(roster.touched_rows(now))
    _look(roster, pages, now)


def _message(line: bytes) -> Message:
    cards = Cards(line)
    topic, how = cards.pick(_TOPICS), cards.byte()
    user = [("epoch", cards.pick(_EPOCHS)), ("seq", _SEQS[how % len(_SEQS)])]
    stamp = stamp_of(user, _LEFTS[(how >> 3) % len(_LEFTS)])
    return Message(topic, cards.rest(), bool(how & 0x80), stamp)


def _look(roster: Roster, pages: dict[str, Listener], now: float) -> None:
    """All that pages are shown can be sent, in JSON."""
    roster.follow(now)
    for later in (0.0, 6.0, 100.0, 90_000.0):
        roster.settle(now + later)
        assert len(check_json(roster.rows(now + later))) < _LARGEST_SNAPSHOT
        for site in pages:
            mirror = roster.site(site)
            if mirror is not None:
                assert len(check_json(mirror.snapshot(now + later))) < _LARGEST_SNAPSHOT
    for page in pages.values():
        while not page.queue.empty():
            line = page.queue.get_nowait()
            assert line is None or json.loads(line)


TARGET = Target(
    check,
    _seeds(),
    (
        b'"t":', b'"steak":"left"', b'"phase":"on"', b'"celsius":', b'"pull_in_s":', b'"p10":',
        b'"steaks":["left"]',
        b'"calls":[', b'"due_t":', b'"state":"here"', b'"speed":', b'"points":',
        b'"id":', b'"wall":', b'"mode":"replay"', b"1e7", b"-1e7", b"1000", b"0.01", b"2000", b"\n",
    ),
    longest=8000, weight=3,
)  # fmt: skip
