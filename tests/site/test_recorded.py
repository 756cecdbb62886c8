"""The site of one cook that is over."""

from __future__ import annotations

import pytest

from pullcall.errors import RefusedError, UnknownNameError
from pullcall.events import Mark, MarkKind
from pullcall.site.recorded import RecordedSite
from tests.recorded import messages, short_cook, short_recording


@pytest.fixture
def site() -> RecordedSite:
    return RecordedSite(short_cook().header, short_recording(), "C", 6)


def test_it_stands_where_the_cook_ended(site: RecordedSite) -> None:
    shown, head = site.snapshot(), messages(short_recording())[0]
    assert shown["t"] == shown["ends_t"] == site.now() == head["ends_t"]
    assert (shown["mode"], shown["unit"], shown["speed"]) == ("replay", "C", 6)
    assert shown["wall"] == "2026-06-13T13:46:40+00:00"
    assert {steak["phase"] for steak in shown["steaks"]} == {"handed_in"}
    assert all(steak["curve"] == [] for steak in shown["steaks"])


async def test_it_gives_the_one_recording_and_no_other(site: RecordedSite) -> None:
    assert await site.recording("thin") == short_recording()
    with pytest.raises(UnknownNameError, match="Only thin is replayed here"):
        await site.recording("another")


async def test_it_takes_nothing_in(site: RecordedSite) -> None:
    with pytest.raises(RefusedError, match="marks, spots and answers are off"):
        await site.take(lambda t: Mark(t, "left", MarkKind.OFF))
    with pytest.raises(RefusedError, match="is over"):
        await site.begin(None)
