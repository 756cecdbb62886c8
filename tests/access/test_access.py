"""The site's pairings: with a clock, a file, and streams that end."""

from __future__ import annotations

import asyncio
import json
import logging
import os
import threading
from collections.abc import Awaitable
from contextlib import ExitStack
from pathlib import Path

import pytest

from pullcall.access.access import Access
from pullcall.access.paired_file import PairedFile
from pullcall.access.records import Claimed, Invited, Sight
from pullcall.access.role import Role
from pullcall.access.terms import BOUNDS
from pullcall.clock import RecordedClock
from pullcall.errors import PairingError, RefusedError, UnknownNameError
from tests.access.registers import DAY, HOUR, MINUTE, NOON


class Site:
    """An access whose clock the test moves."""

    def __init__(self, path: Path | None = None) -> None:
        self.clock = RecordedClock(NOON)
        self.access = Access(self.clock, path)

    def wait(self, seconds: float) -> None:
        self.clock.advance_to(self.clock.monotonic() + seconds)

    def save(self) -> None:
        """Wait for the disk."""
        asyncio.run(self.access.saved())

    def link(self, role: Role) -> Invited:
        return self.access.invite(role, "", None, Sight())

    def phone(self, role: Role) -> Claimed:
        return self.access.claim_secret(self.link(role).secret, "phone")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "state" / "paired.json"


async def settle() -> None:
    """Let every task that can go on do so."""
    for _ in range(5):
        await asyncio.sleep(0)


async def ended(stream: Awaitable[None]) -> None:
    """Wait for a stream's end, failing instead of hanging."""
    async with asyncio.timeout(60):
        await stream


# Letting in


def test_a_phone_is_paired_by_a_link_or_a_code_and_asks_with_its_token() -> None:
    site = Site()
    invited = site.link(Role.WATCHER)
    opened = site.access.open_code(invited.invitation.id)
    by_link = site.access.claim_secret(invited.secret, "Android phone")
    by_code = site.access.claim_code(opened.code, "Android phone")
    assert opened.lasts_s == 120.0
    assert by_link.pairing.paired == "2026-06-13T12:00:00+00:00"
    assert site.access.pairings() == (by_link.pairing, by_code.pairing)
    assert site.access.invitations() == (invited.invitation,)
    for claimed in (by_link, by_code):
        assert site.access.pairing_of(claimed.token) == claimed.pairing
    assert site.access.redeem(site.access.ticket(by_link.pairing.id)) == by_link.pairing


def test_how_long_an_invitation_and_a_phone_still_last() -> None:
    site = Site()
    site.wait(1000.0)
    invited, claimed = site.link(Role.WATCHER).invitation, site.phone(Role.COOK).pairing
    site.wait(HOUR)
    assert site.access.seconds_left(invited) == 11 * HOUR
    assert site.access.seconds_left(claimed) == 30 * DAY - HOUR
    site.wait(31 * DAY)
    assert site.access.seconds_left(claimed) == 0.0
    assert site.access.pairings() == ()


def test_what_is_refused_is_refused_as_by_the_register() -> None:
    site = Site()
    with pytest.raises(RefusedError):
        site.access.invite(Role.COOK, "", HOUR, Sight())
    with pytest.raises(PairingError):
        site.access.claim_secret("wrong", "x")
    with pytest.raises(PairingError):
        site.access.claim_code("12345678", "x")
    for unknown in (site.access.revoke, site.access.revoke_invitation, site.access.ticket):
        with pytest.raises(UnknownNameError):
            unknown("nobody")


def test_the_log_tells_who_was_paired_refused_and_revoked_and_no_secret(
    caplog: pytest.LogCaptureFixture,
) -> None:
    """ASVS 16.3.1: attempts are logged, good and bad; 16.2.5, 16.4.1: no secret, no second line."""
    caplog.set_level(logging.DEBUG)
    site = Site()
    invited = site.link(Role.WATCHER)
    code = site.access.open_code(invited.invitation.id).code
    claimed = site.access.claim_code(code, "evil\nname")
    ticket = site.access.ticket(claimed.pairing.id)
    with pytest.raises(PairingError):
        site.access.claim_secret("a-wrong-secret", "x")
    site.access.revoke_invitation(invited.invitation.id)
    assert "evil name was paired as watcher" in caplog.text
    assert "was not paired" in caplog.text
    assert "evil name, paired as watcher, was revoked" in caplog.text
    for secret in (invited.secret, code, claimed.token, ticket, "a-wrong-secret"):
        assert secret not in caplog.text


# The file


def test_whoever_is_paired_stays_so_over_a_restart(path: Path) -> None:
    before = Site(path)
    claimed = before.phone(Role.COOK)
    unused = before.link(Role.HAND)
    before.save()
    after = Site(path)
    again = after.access.pairing_of(claimed.token)
    assert again is not None and again.id == claimed.pairing.id
    assert after.access.claim_secret(unused.secret, "x").pairing.role is Role.HAND


def test_whoever_was_revoked_stays_so_over_a_restart(path: Path) -> None:
    """ASVS 7.4.1: an ended session is not resumed."""
    before = Site(path)
    lost, of_link = before.phone(Role.COOK), before.phone(Role.WATCHER)
    before.access.revoke(lost.pairing.id)
    before.access.revoke_invitation(of_link.pairing.invitation or "")
    before.save()
    after = Site(path)
    assert after.access.pairing_of(lost.token) is None
    assert after.access.pairing_of(of_link.token) is None
    assert after.access.pairings() == ()


def test_a_used_link_stays_used_over_a_restart(path: Path) -> None:
    """ASVS 6.5.1: once means once."""
    before = Site(path)
    invited = before.link(Role.COOK)
    before.access.claim_secret(invited.secret, "x")
    before.save()
    with pytest.raises(PairingError):
        Site(path).access.claim_secret(invited.secret, "a rival's")


def test_without_a_path_nothing_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    site = Site()
    site.phone(Role.COOK)
    assert site.access.trouble is None
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_fails_stops_nobody_and_is_tried_again(
    path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    site = Site(path)
    path.parent.write_text("a file where the folder should be")
    claimed = site.phone(Role.COOK)
    site.save()
    assert site.access.pairing_of(claimed.token) == claimed.pairing
    assert "cannot be kept" in (site.access.trouble or "")
    assert sum("cannot be kept" in message for message in caplog.messages) == 1
    path.parent.unlink()
    assert site.access.pairing_of(claimed.token) and not path.exists()
    site.wait(30.0)
    assert site.access.pairing_of(claimed.token) == claimed.pairing
    site.save()
    assert site.access.trouble is None
    assert Site(path).access.pairing_of(claimed.token)


def test_the_time_left_is_saved_again_while_phones_ask(path: Path) -> None:
    """So a machine that starts without knowing the time lets nobody live on for long."""
    site = Site(path)
    claimed = site.phone(Role.WATCHER)
    for _ in range(60):
        site.wait(MINUTE)
        site.access.pairing_of(claimed.token)
    site.save()
    saved = json.loads(path.read_text())
    assert 11 * HOUR <= saved["pairings"][0]["left_s"] <= 11 * HOUR + 10 * MINUTE


def test_a_phone_that_asks_often_does_not_wear_out_the_disk(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = Site(path)
    claimed = site.phone(Role.WATCHER)
    site.save()
    saves: list[object] = []
    monkeypatch.setattr(PairedFile, "save", lambda self, *what: saves.append(what))
    for _ in range(599):
        site.wait(1.0)
        site.access.pairing_of(claimed.token)
    site.save()
    assert saves == []


class StallingDisk:
    """Holds every sync of a file back until told."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.goes_on = threading.Event()
        self.syncs = 0
        self._fsync = os.fsync
        monkeypatch.setattr(os, "fsync", self._slow)

    def _slow(self, descriptor: int) -> None:
        self.syncs += 1
        self.goes_on.wait(20)
        self._fsync(descriptor)


async def test_a_disk_that_stalls_holds_up_whoever_asks_and_nobody_else(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = StallingDisk(monkeypatch)
    site = Site(path)
    claimed = site.phone(Role.COOK)
    answer = asyncio.create_task(site.access.saved())
    await settle()
    assert not answer.done()
    assert site.access.pairing_of(claimed.token) == claimed.pairing
    disk.goes_on.set()
    await ended(answer)
    assert site.access.trouble is None
    assert Site(path).access.pairing_of(claimed.token)


async def test_of_many_changes_during_a_stall_only_the_newest_is_saved(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = StallingDisk(monkeypatch)
    site = Site(path)
    phones = [site.phone(Role.COOK) for _ in range(6)]
    site.access.revoke(phones[0].pairing.id)
    disk.goes_on.set()
    await site.access.saved()
    assert disk.syncs <= 2 * 2  # the file and its folder, of the first and of the newest
    again = Site(path).access
    assert [again.pairing_of(one.token) is not None for one in phones] == [False, *[True] * 5]


def test_a_file_that_cannot_be_read_at_first_is_never_replaced_and_is_taken_in_later(
    path: Path,
) -> None:
    before = Site(path)
    early = before.phone(Role.COOK)
    before.save()
    path.rename(path.with_name("elsewhere"))
    path.symlink_to(path)  # reading it fails, as of a disk that fails
    site = Site(path)
    assert "cannot be read" in (site.access.trouble or "")
    late = site.phone(Role.HAND)
    site.save()
    assert path.is_symlink() and "cannot be read" in (site.access.trouble or "")
    path.unlink()
    path.with_name("elsewhere").rename(path)
    site.wait(30.0)
    site.access.pairing_of(late.token)
    site.save()
    assert site.access.pairing_of(early.token) is not None
    site.save()
    assert site.access.trouble is None
    again = Site(path).access
    assert again.pairing_of(early.token) and again.pairing_of(late.token)


# Streams


@pytest.mark.parametrize("how", ["the phone", "its link"])
async def test_revoking_ends_a_phones_streams_at_once_and_no_others(how: str) -> None:
    """ASVS 7.4.1, 7.4.2: the end of a session ends all that is open of it."""
    site = Site()
    lost, other = site.phone(Role.COOK).pairing, site.phone(Role.COOK).pairing
    streams = [asyncio.create_task(site.access.until_gone(lost.id)) for _ in range(2)]
    others = asyncio.create_task(site.access.until_gone(other.id))
    await settle()
    assert not any(stream.done() for stream in streams)
    if how == "the phone":
        site.access.revoke(lost.id)
    else:
        site.access.revoke_invitation(lost.invitation or "")
    for stream in streams:
        await ended(stream)
    await settle()
    assert not others.done()
    others.cancel()


async def test_a_stream_ends_when_its_pairing_expires() -> None:
    site = Site()
    pairing = site.phone(Role.WATCHER).pairing
    stream = asyncio.create_task(site.access.until_gone(pairing.id))
    await settle()
    site.wait(12 * HOUR - 1)
    await settle()
    assert not stream.done()
    site.wait(1)
    await ended(stream)


async def test_a_stream_ends_when_its_watcher_gives_way() -> None:
    site = Site()
    invited = site.link(Role.WATCHER)
    first = site.access.claim_secret(invited.secret, "first").pairing
    stream = asyncio.create_task(site.access.until_gone(first.id))
    await settle()
    for number in range(BOUNDS.of_a_link):
        site.access.claim_secret(invited.secret, f"phone {number}")
    await ended(stream)


async def test_whoever_is_not_paired_is_gone_already() -> None:
    site = Site()
    await ended(site.access.until_gone("nobody"))
    pairing = site.phone(Role.COOK).pairing
    site.access.revoke(pairing.id)
    await ended(site.access.until_gone(pairing.id))


async def test_a_stream_that_closes_first_leaves_nothing_behind() -> None:
    site = Site()
    pairing = site.phone(Role.COOK).pairing
    before = asyncio.all_tasks()
    stream = asyncio.create_task(site.access.until_gone(pairing.id))
    await settle()
    stream.cancel()
    with pytest.raises(asyncio.CancelledError):
        await stream
    assert asyncio.all_tasks() == before


def taken_place(site: Site, pairing_id: str) -> ExitStack:
    place = site.access.take_place(pairing_id, watches=False)
    assert place is not None
    return place


def test_a_phone_is_here_while_one_of_its_streams_is_open() -> None:
    site = Site()
    pairing = site.phone(Role.COOK).pairing
    assert not site.access.is_here(pairing.id)
    with taken_place(site, pairing.id):
        with taken_place(site, pairing.id):
            assert site.access.is_here(pairing.id)
        assert site.access.is_here(pairing.id)
    assert not site.access.is_here(pairing.id)


def test_a_stream_that_breaks_is_no_longer_here() -> None:
    site = Site()
    pairing = site.phone(Role.COOK).pairing
    with pytest.raises(ConnectionError), taken_place(site, pairing.id):
        raise ConnectionError
    assert not site.access.is_here(pairing.id)
