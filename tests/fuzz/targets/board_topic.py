"""Topics as anybody may publish on them."""

from __future__ import annotations

from pullcall.board.intake import Intake, Message
from pullcall.board.refusals import Refusals
from pullcall.board.roster import Roster
from pullcall.board.stamp import Stamp
from pullcall.bus.channels import EVERY, place_of
from tests.fuzz.target import Target


def check(data: bytes) -> None:
    """A topic that means something means only that; any other is counted and left out."""
    topic = data.decode("utf-8", "surrogateescape")
    place = place_of(topic)
    if place is not None:
        assert place.channel.topic(place.site, place.lane) == topic
    refusals, roster = Refusals(), Roster()
    intake = Intake(refusals)
    intake.put(Message(topic, b"", False, Stamp()), 0.0)
    message = intake.next(0.0)
    assert message is not None and message.topic == topic
    roster.take(topic, b"{", False, Stamp(), 0.0)
    assert roster.refused == 1
    assert roster.rows(0.0) == []


TARGET = Target(
    check,
    (
        *(channel.topic("north", 1).encode() for channel in EVERY),
        b"pullcall/1//pulse",
        b"pullcall/1/north/steak/3",
        b"pullcall/1/\xe2\x80\xae/pulse",
        b"pullcall/1/north/steak/{lane}",
    ),
    (b"pullcall/1/", b"steak/", b"{lane}", b"/1", b"/2"),
    longest=300,
)
