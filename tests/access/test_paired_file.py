"""The file that keeps who is paired over a restart."""

from __future__ import annotations

import json
import logging
import os
import stat
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.access.paired_file import PairedFile
from pullcall.access.records import Kept, Sight
from pullcall.access.register import Register
from pullcall.access.role import Role
from pullcall.errors import PairedFileError
from tests.access.registers import DAY, HOUR, MINUTE, NOON, NOTHING, WALL, fixed, link, phone

UNSET = datetime(1970, 1, 1, 0, 1, tzinfo=UTC)
#: From 1970 to 2100.
any_wall = st.integers(0, 4_102_444_800).map(lambda seconds: datetime.fromtimestamp(seconds, UTC))


def some(now: float = 0.0) -> Kept:
    """A used and an unused invitation, and phones of each role."""
    register = fixed()
    link(register, Role.HAND, now)
    for role in Role:
        phone(register, role, now)
    late = link(register, Role.WATCHER, now, Sight(120.0, hides_targets=True))
    register.claim_secret(late.secret, "späť 🥩", now, WALL)
    return register.kept(now)


def left_s(path: Path, saved: datetime, loaded: datetime, boots: str = "ab") -> float | None:
    """A watcher's seconds left of 12 h, saved at 100 s of one boot and loaded at 60 s of another.

    ``boots`` of one letter twice: the same boot, loaded at 400 s of it.
    """
    register = fixed()
    phone(register, Role.WATCHER, 100.0)
    PairedFile(path, boots[0]).save(register.kept(100.0), 100.0, saved)
    now = 400.0 if boots[0] == boots[1] else 60.0
    kept = PairedFile(path, boots[1]).load(now, loaded)
    return kept.pairings[0].expires - now if kept.pairings else None


def deadlines(kept: Kept) -> dict[str, float]:
    """When each invitation and phone expires, by its id."""
    links = {one.id: one.expires for one in kept.invitations}
    return links | {one.id: one.expires for one in kept.pairings}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "state" / "paired.json"


@pytest.fixture
def open_umask() -> Iterator[None]:
    before = os.umask(0)
    yield
    os.umask(before)


def test_what_was_saved_is_loaded(path: Path) -> None:
    file = PairedFile(path, "boot")
    file.save(some(), 0.0, NOON)
    assert file.load(0.0, NOON) == some()


def test_without_a_file_nobody_is_paired(path: Path, caplog: pytest.LogCaptureFixture) -> None:
    assert PairedFile(path).load(0.0, NOON) == NOTHING
    assert caplog.messages == []


@pytest.mark.usefixtures("open_umask")
def test_only_its_owner_can_read_the_file_or_its_new_folder(path: Path) -> None:
    """ASVS 13.3.2: as few as possible have access to secrets; here even to their digests."""
    PairedFile(path).save(some(), 0.0, NOON)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700


@pytest.mark.usefixtures("open_umask")
def test_saving_takes_back_what_others_may_read(path: Path) -> None:
    path.parent.mkdir()
    path.write_text("{}")
    assert stat.S_IMODE(path.stat().st_mode) == 0o666
    PairedFile(path).save(some(), 0.0, NOON)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_no_secret_of_any_kind_is_in_the_file(path: Path) -> None:
    """ASVS 6.5.2: secrets of 112 bits and more are kept as a hash; codes are not kept at all."""
    register = Register()
    unused, invited = link(register, Role.COOK), link(register, Role.WATCHER)
    code = register.open_code(unused.invitation.id, 0.0).code
    claimed = register.claim_secret(invited.secret, "x", 0.0, WALL)
    ticket = register.ticket(claimed.pairing.id, 0.0)
    PairedFile(path).save(register.kept(0.0), 0.0, NOON)
    written = path.read_text()
    assert claimed.pairing.digest in written
    for secret in (unused.secret, invited.secret, code, claimed.token, ticket):
        assert secret not in written


# Time


def test_what_passed_by_the_wall_clock_is_taken_off(path: Path) -> None:
    assert left_s(path, NOON, NOON + timedelta(hours=2)) == pytest.approx(10 * HOUR)
    assert left_s(path, NOON, NOON + timedelta(hours=12)) is None


def test_a_watcher_does_not_live_on_and_a_cook_does(path: Path) -> None:
    """ASVS 7.3.2: a session's longest life holds over restarts."""
    PairedFile(path, "a").save(some(), 0.0, NOON)
    kept = PairedFile(path, "b").load(0.0, NOON + timedelta(days=1))
    assert {one.role for one in kept.pairings} == {Role.COOK, Role.HAND}
    assert kept.invitations == ()
    assert {one.expires for one in kept.pairings} == {29 * DAY}


@pytest.mark.parametrize(
    ("saved", "loaded"),
    [
        (UNSET, NOON),
        (NOON, UNSET),
        (UNSET, UNSET + timedelta(days=3)),
        (NOON, NOON - timedelta(days=3)),
        (NOON, NOON),
    ],
    ids=["set since", "lost since", "never set", "gone back", "at once"],
)
def test_a_wall_clock_that_tells_nothing_takes_nothing_off(
    path: Path, saved: datetime, loaded: datetime
) -> None:
    assert left_s(path, saved, loaded) == 12 * HOUR


@pytest.mark.parametrize("loaded", [UNSET, NOON - timedelta(days=3), NOON + timedelta(days=3)])
def test_within_one_boot_the_monotonic_clock_tells_what_passed(
    path: Path, loaded: datetime
) -> None:
    assert left_s(path, NOON, loaded, boots="aa") == pytest.approx(12 * HOUR - 300.0)


def test_boots_that_cannot_be_told_apart_are_told_by_the_wall_clock(path: Path) -> None:
    register = fixed()
    phone(register, Role.WATCHER)
    PairedFile(path, "unknown").save(register.kept(0.0), 0.0, NOON)
    loaded = PairedFile(path, "unknown").load(5.0, NOON + timedelta(hours=2))
    assert loaded.pairings[0].expires == pytest.approx(5.0 + 10 * HOUR)


def test_a_monotonic_clock_that_starts_again_in_one_boot_is_not_trusted(path: Path) -> None:
    register = fixed()
    phone(register, Role.WATCHER, 500.0)
    PairedFile(path, "a").save(register.kept(500.0), 500.0, NOON)
    loaded = PairedFile(path, "a").load(0.0, NOON + timedelta(hours=2))
    assert loaded.pairings[0].expires == pytest.approx(10 * HOUR)


@given(
    any_wall,
    any_wall,
    st.floats(0.0, 1e8),
    st.floats(0.0, 1e8),
    st.booleans(),
)
def test_no_clock_whatever_it_says_lets_anybody_live_longer(
    saved: datetime, loaded: datetime, then: float, now: float, is_same_boot: bool
) -> None:
    kept = some(then)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "paired.json"
        PairedFile(path, "a").save(kept, then, saved)
        again = PairedFile(path, "a" if is_same_boot else "b").load(now, loaded)
    before = deadlines(kept)
    for id, deadline in deadlines(again).items():
        assert 0.0 < deadline - now <= before[id] - then + 1e-6


# What goes wrong


def broken_files() -> list[bytes]:
    whole = json.loads(saved_bytes())
    pairing = whole["pairings"][0]
    changed: list[dict[str, object]] = [
        {"format": "something else"},
        {"version": 2},
        {"saved": "yesterday"},
        {"saved": "2026-06-13T12:00:00"},
        {"saved": "0000-06-13T12:00:00Z"},
        {"more": 1},
        {"pairings": {}},
        {"pairings": [pairing | {"role": "owner"}]},
        {"pairings": [pairing | {"digest": "short"}]},
        {"pairings": [pairing | {"left_s": 1e9}]},
        {"pairings": [pairing | {"left_s": float("nan")}]},
        {"pairings": [pairing | {"left_s": "3600"}]},
        {"pairings": [pairing | {"name": "x" * 41}]},
    ]
    return [
        b"",
        b"{",
        b"\xff\xfe",
        b"[]",
        b"null",
        b"[" * 100_000,
        saved_bytes()[:-20],
        *(json.dumps(whole | change).encode() for change in changed),
    ]


def saved_bytes() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        file = PairedFile(Path(folder) / "paired.json", "a")
        file.save(some(), 0.0, NOON)
        return file.path.read_bytes()


@pytest.mark.parametrize("content", broken_files())
def test_a_broken_or_foreign_file_is_set_aside_and_the_log_says_so(
    path: Path, content: bytes, caplog: pytest.LogCaptureFixture
) -> None:
    """ASVS 16.5.3: what cannot be read lets nobody in, and stops nothing."""
    path.parent.mkdir()
    path.write_bytes(content)
    file = PairedFile(path, "a")
    assert file.load(0.0, NOON) == NOTHING
    aside = path.with_name("paired.json.broken-1")
    assert aside.read_bytes() == content
    assert not path.exists()
    assert str(aside) in caplog.text and "Pair the phones again" in caplog.text
    file.save(some(), 0.0, NOON)
    assert file.load(0.0, NOON) == some()


@pytest.mark.parametrize("saved", ["0001-01-01T00:00:00+23:00", "9999-12-31T23:59:59-23:00"])
def test_the_farthest_times_are_times_too(path: Path, saved: str) -> None:
    path.parent.mkdir()
    path.write_text(json.dumps(json.loads(saved_bytes()) | {"saved": saved}))
    assert len(PairedFile(path, "b").load(0.0, NOON).pairings) == 4


def test_setting_aside_never_replaces_what_was_set_aside_before(path: Path) -> None:
    path.parent.mkdir()
    for number in (1, 2):
        path.write_text(f"broken {number}")
        PairedFile(path).load(0.0, NOON)
    assert path.with_name("paired.json.broken-1").read_text() == "broken 1"
    assert path.with_name("paired.json.broken-2").read_text() == "broken 2"


def test_the_log_does_not_repeat_what_a_broken_file_holds(
    path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    whole = json.loads(saved_bytes())
    whole["pairings"][0]["digest"] = "not-to-be-read"
    path.parent.mkdir()
    path.write_text(json.dumps(whole))
    PairedFile(path).load(0.0, NOON)
    assert "pairings.0.digest" in caplog.text
    assert "not-to-be-read" not in caplog.text


@given(st.data())
def test_no_damage_of_a_byte_stops_the_start(data: st.DataObject) -> None:
    content = bytearray(saved_bytes())
    at = data.draw(st.integers(0, len(content) - 1))
    content[at] = data.draw(st.integers(0, 255))
    content = content[: data.draw(st.sampled_from([len(content), at]))]
    logging.disable(logging.WARNING)
    try:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "paired.json"
            path.write_bytes(content)
            PairedFile(path, "b").load(0.0, NOON)
    finally:
        logging.disable(logging.NOTSET)


def test_a_folder_in_place_of_the_file_is_set_aside_too(
    path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    path.mkdir(parents=True)
    assert PairedFile(path).load(0.0, NOON) == NOTHING
    assert path.with_name("paired.json.broken-1").is_dir()
    assert "Is a directory" in caplog.text


def test_a_file_that_cannot_be_read_stays_where_it_is(path: Path) -> None:
    path.parent.mkdir()
    path.symlink_to(path)
    with pytest.raises(PairedFileError, match="cannot be read"):
        PairedFile(path).load(0.0, NOON)
    assert path.is_symlink()


def test_a_folder_that_cannot_be_set_aside_stops_nothing(
    path: Path, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    path.mkdir(parents=True)

    def is_read_only(self: Path, target: Path) -> Path:
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr(Path, "rename", is_read_only)
    assert PairedFile(path).load(0.0, NOON) == NOTHING
    assert "could not be set aside" in caplog.text


def test_a_failed_save_says_what_to_expect_and_leaves_the_old_file_whole(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = PairedFile(path, "a")
    file.save(some(), 0.0, NOON)

    def is_full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", is_full)
        with pytest.raises(PairedFileError, match=r"No space left on device.*restart"):
            file.save(NOTHING, 0.0, NOON)
    assert file.load(0.0, NOON) == some()
    assert [one.name for one in path.parent.iterdir()] == ["paired.json"]


def test_what_a_stop_in_the_middle_left_is_replaced_and_never_followed(path: Path) -> None:
    path.parent.mkdir()
    elsewhere = path.with_name("elsewhere")
    elsewhere.write_text("untouched")
    path.with_name("paired.json.new").symlink_to(elsewhere)
    file = PairedFile(path, "a")
    file.save(some(), 0.0, NOON)
    assert elsewhere.read_text() == "untouched"
    assert file.load(0.0, NOON) == some()


def test_the_new_content_is_on_disk_before_it_takes_the_old_ones_name(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A loss of power leaves the old file or the new one (common practice, no source)."""
    done: list[str] = []
    fsync, replace = os.fsync, Path.replace

    def noted_fsync(descriptor: int) -> None:
        done.append("folder" if stat.S_ISDIR(os.fstat(descriptor).st_mode) else "content")
        fsync(descriptor)

    def noted_replace(self: Path, target: Path) -> Path:
        done.append("name")
        return replace(self, target)

    monkeypatch.setattr(os, "fsync", noted_fsync)
    monkeypatch.setattr(Path, "replace", noted_replace)
    PairedFile(path).save(some(), 0.0, NOON)
    assert done == ["content", "name", "folder"]


def test_ten_minutes_of_an_invitation_survive_a_restart_of_one_minute(path: Path) -> None:
    register = fixed()
    invited = link(register, Role.COOK)
    PairedFile(path, "a").save(register.kept(0.0), 0.0, NOON)
    kept = PairedFile(path, "b").load(7.0, NOON + timedelta(minutes=1))
    again = fixed(kept)
    assert kept.invitations[0].expires == pytest.approx(7.0 + 9 * MINUTE)
    assert again.claim_secret(invited.secret, "x", 8.0, WALL).pairing.role is Role.COOK
