"""Phones and their receipts, on a clock that the test moves."""

from __future__ import annotations

from pullcall.outlets.outlet import OutletState
from pullcall.outlets.phones import HERE_S, RECEIPT_S, Phones
from tests.outlets.ears import Reported, call, clock, running, settle


class Pages:
    """The outlet with its clock and reports."""

    def __init__(self) -> None:
        self.clock = clock()
        self.phones = Phones(self.clock)
        self.reported = Reported()

    async def after(self, seconds: float) -> None:
        await settle()
        self.clock.advance_to(self.clock.monotonic() + seconds)
        await settle()

    def told(self) -> list[tuple[str, bool]]:
        return [(report.call.id, report.played) for report in self.reported.all]


def test_a_phone_is_here_for_a_while_after_it_was_last_heard_of() -> None:
    phones = Phones(clock())
    phones.seen("a", True, 100.0)
    phones.seen("b", False, 100.0)
    assert (phones.armed_count(100.0 + HERE_S), phones.here_count(100.0 + HERE_S)) == (1, 2)
    assert (phones.armed_count(100.1 + HERE_S), phones.here_count(100.1 + HERE_S)) == (0, 0)


def test_a_phone_that_is_no_longer_armed_or_left_does_not_count() -> None:
    phones = Phones(clock())
    phones.seen("a", True, 0.0)
    phones.seen("b", True, 0.0)
    phones.seen("a", False, 1.0)
    assert phones.armed_count(1.0) == 1
    phones.gone("b")
    assert phones.armed_count(1.0) == 0


def test_of_too_many_phones_the_stalest_is_forgotten() -> None:
    phones = Phones(clock())
    for number in range(64):
        phones.seen(f"phone {number}", number == 0, 0.0)
    phones.seen("phone 0", True, 1.0)
    phones.seen("one more", False, 1.0)
    assert phones.here_count(1.0) == 64
    assert phones.armed_count(1.0) == 1


async def test_the_first_receipt_reports_the_call_played_and_later_ones_nothing() -> None:
    pages = Pages()
    pages.phones.seen("a", True, 0.0)
    async with running(pages.phones.run(pages.reported)):
        await settle()
        pages.phones.announce((call("c1"),))
        pages.phones.receipt("a", "c1", 0.5)
        pages.phones.receipt("b", "c1", 0.6)
        await pages.after(RECEIPT_S)
    assert pages.told() == [("c1", True)]
    assert pages.phones.status().last_played == 0.5


async def test_a_receipt_that_does_not_come_is_reported_while_a_phone_is_armed() -> None:
    pages = Pages()
    pages.phones.seen("a", True, 0.0)
    async with running(pages.phones.run(pages.reported)):
        pages.phones.announce((call("c1"),))
        await pages.after(RECEIPT_S - 0.1)
        assert pages.told() == []
        await pages.after(0.1)
        assert pages.told() == [("c1", False)]
        assert pages.phones.status().state is OutletState.FAILING
        pages.phones.receipt("a", "c1", 4.0)
    assert pages.told() == [("c1", False), ("c1", True)]
    assert pages.phones.status().state is OutletState.OK


async def test_without_an_armed_phone_nothing_is_missed() -> None:
    pages = Pages()
    pages.phones.seen("a", False, 0.0)
    async with running(pages.phones.run(pages.reported)):
        pages.phones.announce((call("c1"),))
        await pages.after(RECEIPT_S)
    assert pages.told() == []


async def test_an_answered_call_is_not_missed() -> None:
    pages = Pages()
    pages.phones.seen("a", True, 0.0)
    async with running(pages.phones.run(pages.reported)):
        pages.phones.announce((call("c1"),))
        pages.phones.silence("c1")
        await pages.after(RECEIPT_S)
    assert pages.told() == []


async def test_each_repeat_of_an_alarm_wants_its_own_receipt() -> None:
    pages = Pages()
    pages.phones.seen("a", True, 0.0)
    async with running(pages.phones.run(pages.reported)):
        await settle()
        pages.phones.announce((call("c1", t=480.0),))
        pages.phones.receipt("a", "c1", 0.5)
        pages.phones.announce((call("c1", t=485.0),))
        await pages.after(RECEIPT_S)
    assert [(r.call.t, r.played) for r in pages.reported.all] == [(480.0, True), (485.0, False)]


def test_a_receipt_of_an_unknown_call_or_phone_changes_nothing() -> None:
    phones = Phones(clock())
    phones.receipt("nobody", "nothing", 0.0)
    assert phones.here_count(0.0) == 0


def test_the_status_says_what_to_do_until_a_phone_is_armed() -> None:
    phones = Phones(clock())
    assert phones.status().state is OutletState.OFF
    assert "open the page" in phones.status().note
    phones.seen("a", False, 0.0)
    assert "tap to arm" in phones.status().note
    phones.seen("a", True, 0.0)
    assert (phones.status().state, phones.status().note) == (OutletState.OK, "")
