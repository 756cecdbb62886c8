"""Posts to a real server on this machine; the clock of freshness is the test's."""

from __future__ import annotations

import hashlib
import hmac
import json
import logging

import httpx
import pytest

from pullcall.clock import RecordedClock
from pullcall.errors import ConfigError
from pullcall.outlets.options import WebhookOptions
from pullcall.outlets.outlet import OutletState
from pullcall.outlets.webhook import FRESH_S, Webhook
from tests.outlets.ears import STARTED, Reported, call, clock, running, until
from tests.outlets.receiver import DRIPS, GONE, HANGS, OK, TROUBLE, Receiver, receiver

SECRET = "a secret of the test"


class Posting:
    """A webhook aimed at a receiver, with its clock and reports."""

    def __init__(self, there: Receiver, secret: str = SECRET) -> None:
        self.clock: RecordedClock = clock()
        self.hook = Webhook(WebhookOptions(there.url, secret), self.clock)
        self.reported = Reported()

    async def reports(self, number: int) -> list[tuple[str, bool]]:
        """What was reported, once there are ``number``; pauses between tries pass at once."""
        while len(self.reported.all) < number:
            moment = self.clock.monotonic()
            await until(lambda: bool(self.clock._sleepers) or len(self.reported.all) >= number)
            self.clock.advance_to(moment + 0.25)
        return [(report.call.id, report.played) for report in self.reported.all]


async def test_a_call_arrives_as_json_with_all_that_is_known_of_it() -> None:
    async with receiver(OK) as there:
        posting = Posting(there)
        async with running(posting.hook.run(posting.reported)):
            posting.hook.announce((call("c8", steaks=("Grün",), text="Grün: pull in about 40"),))
            assert await posting.reports(1) == [("c8", True)]
    [got] = there.got
    assert got.line == "POST /calls/a-secret-path HTTP/1.1"
    assert got.headers["content-type"] == "application/json"
    assert json.loads(got.body) == {
        "id": "c8",
        "t": 480.0,
        "at": "2026-06-13T13:40:00.000+00:00",
        "steaks": ["Grün"],
        "call": "pull_soon",
        "in_s": 40.0,
        "priority": 1,
        "text": "Grün: pull in about 40",
        "insistent": False,
    }
    assert posting.hook.status().state is OutletState.OK


async def test_the_signature_can_be_verified_by_who_knows_the_secret() -> None:
    async with receiver(OK) as there:
        posting = Posting(there)
        async with running(posting.hook.run(posting.reported)):
            posting.hook.announce((call(),))
            await posting.reports(1)
    [got] = there.got
    stamp = got.headers["pullcall-timestamp"]
    assert stamp == str(int(STARTED.timestamp()))
    signed = hmac.new(SECRET.encode(), stamp.encode() + b"." + got.body, hashlib.sha256)
    assert got.headers["pullcall-signature"] == "sha256=" + signed.hexdigest()


@pytest.mark.parametrize("priority, tries", [(1, 3), (2, 2), (3, 2)])
async def test_a_call_is_tried_again_as_often_as_its_priority_says(
    priority: int, tries: int
) -> None:
    async with receiver(TROUBLE) as there:
        posting = Posting(there)
        async with running(posting.hook.run(posting.reported)):
            posting.hook.announce((call("c1", priority=priority),))
            assert await posting.reports(1) == [("c1", False)]
        assert len(there.got) == tries
        status = posting.hook.status()
    assert status.state is OutletState.FAILING
    assert "answered 503" in status.note


async def test_another_try_that_works_is_one_played_call() -> None:
    async with receiver(TROUBLE, OK) as there:
        posting = Posting(there)
        async with running(posting.hook.run(posting.reported)):
            posting.hook.announce((call("c1"),))
            assert await posting.reports(1) == [("c1", True)]
        assert [got.body for got in there.got] == [there.got[0].body] * 2
    assert posting.hook.status().state is OutletState.OK


async def test_a_call_that_is_no_longer_fresh_is_not_tried_again() -> None:
    async with receiver(TROUBLE) as there:
        posting = Posting(there)
        posting.hook.announce((call("c1"),))
        posting.clock.advance_to(FRESH_S)
        async with running(posting.hook.run(posting.reported)):
            await posting.reported.count(1)
        assert len(there.got) == 1


async def test_an_answer_that_no_further_try_can_change_is_final() -> None:
    async with receiver(GONE) as there:
        posting = Posting(there)
        async with running(posting.hook.run(posting.reported)):
            posting.hook.announce((call("c1"),))
            await posting.reported.count(1)
        assert len(there.got) == 1


async def test_a_redirect_is_not_followed() -> None:
    async with receiver(OK) as elsewhere:
        head = f"HTTP/1.1 307 Temporary Redirect\r\nLocation: {elsewhere.url}\r\n"
        async with receiver(head.encode() + b"Content-Length: 0\r\n\r\n") as there:
            posting = Posting(there)
            async with running(posting.hook.run(posting.reported)):
                posting.hook.announce((call("c1"),))
                [report] = await posting.reported.count(1)
        assert elsewhere.got == []
    assert not report.played
    assert "answered 307, a redirect, which is not followed" in report.note


async def test_a_receiver_that_hangs_holds_up_neither_announcing_nor_the_next_call() -> None:
    async with receiver(HANGS, OK) as there:
        posting = Posting(there)
        async with running(posting.hook.run(posting.reported)):
            posting.hook.announce((call("hangs", priority=3),))
            await until(lambda: len(there.got) == 1)
            posting.hook.announce((call("next"),))
            assert (await posting.reports(1))[0] == ("next", True)
            # The one that hung is given up and tried again.
            assert (await posting.reports(2))[1] == ("hangs", True)


async def test_an_answer_that_never_ends_is_given_up() -> None:
    async with receiver(DRIPS) as there:
        posting = Posting(there)
        posting.hook.announce((call("c1"),))
        posting.clock.advance_to(FRESH_S)
        async with running(posting.hook.run(posting.reported)):
            [report] = await posting.reported.count(1)
    assert "did not answer within 2 s" in report.note


async def test_nobody_listening_is_reported_with_what_to_check() -> None:
    async with receiver(OK) as there:
        pass
    posting = Posting(there)
    async with running(posting.hook.run(posting.reported)):
        posting.hook.announce((call("c1", priority=2),))
        assert await posting.reports(1) == [("c1", False)]
    assert "127.0.0.1 cannot be reached: check [webhook] url" in posting.reported.all[0].note


async def test_neither_secret_nor_address_is_logged_or_shown(
    caplog: pytest.LogCaptureFixture,
) -> None:
    caplog.set_level(logging.DEBUG, logger="pullcall")
    caplog.set_level(logging.INFO)
    async with receiver(OK, GONE) as there:
        posting = Posting(there)
        async with running(posting.hook.run(posting.reported)):
            for number in (1, 2):
                posting.hook.announce((call(f"c{number}"),))
                await posting.reports(number)
    shown = caplog.text + repr(WebhookOptions(there.url, SECRET)) + repr(posting.reported.all)
    shown += repr(posting.hook.status())
    assert "127.0.0.1" in shown
    assert SECRET not in shown
    assert "a-secret-path" not in shown


@pytest.mark.parametrize("url", ["example.org/calls", "ftp://example.org", "http://", "http://a:b"])
def test_an_address_that_cannot_be_posted_to_is_refused(url: str) -> None:
    with pytest.raises(ConfigError, match="write it whole"):
        Webhook(WebhookOptions(url), clock())


def test_the_library_that_posts_would_log_whole_addresses_at_its_usual_level() -> None:
    assert logging.getLogger(httpx.__name__).level == logging.WARNING
