"""The site's certificate is kept, and kept true to the machine, while connections go on."""

from __future__ import annotations

import errno
import logging
import os
import stat
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

from pullcall.errors import ConfigError
from pullcall.network.addresses import Address
from pullcall.network.loopback import address_of
from pullcall.tls.authority import make_authority, make_leaf
from pullcall.tls.credential import Credential, from_pem
from pullcall.tls.keeper import CertificateKeeper
from pullcall.tls.safe import Safe
from pullcall.tls.validity import PLAUSIBLE_FROM
from pullcall.tls.watching import LOOK_S
from tests.set_clock import NOON, SetClock
from tests.tls.handshake import certificate_at, opened, phone_that_trusts, served
from tests.tls.running import running

NAMES = ("pullcall.local", "pit.local", "pit")
BEFORE_TIME = datetime(1970, 1, 1, 0, 0, 40, tzinfo=UTC)


class Machine:
    """A machine whose addresses and clock a test sets, and what it keeps."""

    def __init__(self, folder: Path, wall: datetime = NOON) -> None:
        self.folder = folder
        self.clock = SetClock(wall)
        self.addresses: list[Address] = []
        self.move_to("192.168.1.20")

    def move_to(self, *addresses: str) -> None:
        self.addresses = [ip_address(text) for text in addresses]

    def start(self, names: tuple[str, ...] = NAMES) -> CertificateKeeper:
        return CertificateKeeper(self.folder, names, self.clock, lambda: tuple(self.addresses))

    @property
    def leaf(self) -> x509.Certificate:
        return from_pem((self.folder / "leaf.pem").read_bytes()).certificate

    def covers(self, name: str) -> bool:
        alternatives = x509.SubjectAlternativeName
        held = self.leaf.extensions.get_extension_for_class(alternatives).value
        address = address_of(name)
        if address is not None:
            return address in held.get_values_for_type(x509.IPAddress)
        return name in held.get_values_for_type(x509.DNSName)


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    return Machine(tmp_path / "state" / "tls")


def warnings(caplog: pytest.LogCaptureFixture) -> list[str]:
    return [r.getMessage() for r in caplog.records if r.levelno >= logging.WARNING]


def days_left(certificate: x509.Certificate, now: datetime) -> float:
    return (certificate.not_valid_after_utc - now) / timedelta(days=1)


async def test_a_phone_that_trusts_the_authority_opens_every_name(tmp_path: Path) -> None:
    machine = Machine(tmp_path / "tls", datetime.now(UTC))
    keeper = machine.start()
    phone = phone_that_trusts(keeper.authority_der)
    async with served(keeper.context()) as port:
        for name in ("127.0.0.1", "::1", "localhost", "192.168.1.20", *NAMES):
            assert await certificate_at(port, phone, name) == machine.leaf


async def test_at_a_new_address_new_connections_see_it_and_old_ones_go_on(tmp_path: Path) -> None:
    machine = Machine(tmp_path / "tls", datetime.now(UTC))
    keeper = machine.start()
    phone = phone_that_trusts(keeper.authority_der)
    async with (
        served(keeper.context()) as port,
        opened(port, phone, "192.168.1.20") as early,
        running(keeper.watch()),
    ):
        before = early.certificate
        machine.move_to("10.42.0.1", "fd00::2")
        await machine.clock.someone_waits()
        await machine.clock.pass_by(LOOK_S)
        assert await early.echo(b"still here") == b"still here"
        for name in ("10.42.0.1", "fd00::2", "pullcall.local"):
            after = await certificate_at(port, phone, name)
            assert after != before
            assert after == machine.leaf
        assert await early.echo(b"and still") == b"and still"


def test_nothing_is_made_anew_without_need(machine: Machine) -> None:
    keeper = machine.start()
    first, fingerprint = machine.leaf, keeper.fingerprint
    machine.move_to()
    keeper.look()
    machine.move_to("192.168.1.20")
    machine.clock.set_wall(NOON + timedelta(days=20))
    keeper.look()
    again = machine.start()
    assert (machine.leaf, again.fingerprint) == (first, fingerprint)


@pytest.mark.parametrize("mask", [0o000, 0o077])
def test_only_the_owner_can_read_what_is_kept(machine: Machine, mask: int) -> None:
    machine.folder.mkdir(parents=True, mode=0o755)
    before = os.umask(mask)
    try:
        machine.start()
    finally:
        os.umask(before)
    assert stat.S_IMODE(machine.folder.stat().st_mode) == 0o700
    kept = {path.name: stat.S_IMODE(path.stat().st_mode) for path in machine.folder.iterdir()}
    assert kept == {"authority.pem": 0o600, "leaf.pem": 0o600}


def test_with_thirty_days_left_it_is_made_anew(machine: Machine) -> None:
    keeper = machine.start()
    ends = machine.leaf.not_valid_after_utc
    machine.clock.set_wall(ends - timedelta(days=30))
    keeper.look()
    assert machine.leaf.not_valid_after_utc == ends
    now = ends - timedelta(days=29)
    machine.clock.set_wall(now)
    keeper.look()
    assert days_left(machine.leaf, now) > 270


def test_at_the_start_it_is_made_anew_sooner(machine: Machine) -> None:
    machine.start()
    now = NOON + timedelta(days=60)
    machine.clock.set_wall(now)
    machine.start()
    assert days_left(machine.leaf, now) > 270


def test_a_certificate_of_a_clock_that_was_ahead_is_made_anew(machine: Machine) -> None:
    machine.clock.set_wall(NOON + timedelta(days=3000))
    keeper = machine.start()
    machine.clock.set_wall(NOON)
    keeper.look()
    assert machine.leaf.not_valid_before_utc <= NOON
    assert days_left(machine.leaf, NOON) > 270


# Boards without a clock


def test_in_1970_the_dates_are_those_of_a_time_that_is_past_for_phones(machine: Machine) -> None:
    machine.clock.set_wall(BEFORE_TIME)
    machine.start()
    authority = from_pem((machine.folder / "authority.pem").read_bytes()).certificate
    assert authority.not_valid_before_utc == datetime(2020, 1, 1, tzinfo=UTC)
    assert authority.not_valid_after_utc > PLAUSIBLE_FROM + timedelta(days=3600)
    assert machine.leaf.not_valid_before_utc < PLAUSIBLE_FROM
    assert days_left(machine.leaf, PLAUSIBLE_FROM) > 270


async def test_once_the_clock_is_set_phones_accept_it(tmp_path: Path) -> None:
    machine = Machine(tmp_path / "tls", BEFORE_TIME)
    keeper = machine.start()
    phone = phone_that_trusts(keeper.authority_der)
    async with served(keeper.context()) as port, running(keeper.watch()):
        await machine.clock.someone_waits()
        guessed = machine.leaf
        machine.clock.set_wall(datetime.now(UTC))
        await machine.clock.pass_by(LOOK_S)
        assert await certificate_at(port, phone, "192.168.1.20") == machine.leaf
        made = machine.leaf
        assert made != guessed
        await machine.clock.pass_by(LOOK_S)
        assert machine.leaf == made


def test_a_guess_is_made_anew_even_where_its_dates_would_do(machine: Machine) -> None:
    machine.clock.set_wall(BEFORE_TIME)
    keeper = machine.start()
    guessed = machine.leaf
    machine.clock.set_wall(PLAUSIBLE_FROM + timedelta(days=1))
    keeper.look()
    assert machine.leaf != guessed


def test_a_clock_that_is_not_set_does_not_judge_what_a_set_one_made(machine: Machine) -> None:
    machine.start()
    made = machine.leaf
    machine.clock.set_wall(BEFORE_TIME)
    keeper = machine.start()
    keeper.look()
    assert machine.leaf == made


def test_on_another_network_in_1970_it_counts_from_the_last_time_known(machine: Machine) -> None:
    machine.start()
    made = machine.leaf
    machine.clock.set_wall(BEFORE_TIME)
    machine.move_to("10.42.0.1")
    keeper = machine.start()
    machine.move_to("10.42.0.2")
    keeper.look()
    assert machine.covers("10.42.0.2")
    assert machine.leaf.not_valid_after_utc == made.not_valid_after_utc


# What it may not vouch for


def test_a_public_address_is_left_out_and_told_once(
    machine: Machine, caplog: pytest.LogCaptureFixture
) -> None:
    machine.move_to("192.168.1.20", "8.8.4.4")
    keeper = machine.start()
    keeper.look()
    assert machine.covers("192.168.1.20")
    assert not machine.covers("8.8.4.4")
    assert len(warnings(caplog)) == 1
    assert "8.8.4.4" in warnings(caplog)[0]


def test_a_name_new_since_the_authority_was_made_is_left_out_and_told(
    machine: Machine, caplog: pytest.LogCaptureFixture
) -> None:
    fingerprint = machine.start().fingerprint
    keeper = machine.start((*NAMES, "smoker.local", "grill.lan"))
    assert keeper.fingerprint == fingerprint
    assert machine.covers("smoker.local")
    assert not machine.covers("grill.lan")
    assert ["grill.lan" in told for told in warnings(caplog)] == [True]


def test_an_address_given_as_a_name_is_an_address(machine: Machine) -> None:
    machine.start((*NAMES, "10.9.8.7"))
    assert machine.covers("10.9.8.7")


# What can go wrong with the files


@pytest.mark.parametrize("name", ["authority", "leaf"])
@pytest.mark.parametrize("spoil", ["rubbish", "empty", "half", "strange key", "other kind"])
async def test_a_broken_file_is_set_aside_and_made_anew(
    tmp_path: Path, name: str, spoil: str, caplog: pytest.LogCaptureFixture
) -> None:
    machine = Machine(tmp_path / "tls", datetime.now(UTC))
    machine.start()
    path = machine.folder / f"{name}.pem"
    path.write_bytes(_spoilt(path.read_bytes(), spoil))
    broken = path.read_bytes()
    keeper = machine.start()
    assert path.with_suffix(".broken").read_bytes() == broken
    assert any(f"{name}.pem cannot be used" in told for told in warnings(caplog))
    async with served(keeper.context()) as port:
        await certificate_at(port, phone_that_trusts(keeper.authority_der), "pullcall.local")


def _spoilt(text: bytes, how: str) -> bytes:
    other = make_authority("other", (), NOON)
    certificate = text[text.index(b"-----BEGIN CERTIFICATE") :]
    key = other.to_pem()[: other.to_pem().index(b"-----BEGIN CERTIFICATE")]
    other_kind = Ed25519PrivateKey.generate().private_bytes(
        Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()
    )
    return {
        "rubbish": b"\x00\xffnothing",
        "empty": b"",
        "half": text[: len(text) // 2],
        "strange key": key + certificate,
        "other kind": other_kind + certificate,
    }[how]


def test_an_authority_without_limits_is_not_used(machine: Machine) -> None:
    keeper = machine.start()
    # A site's own certificate has a key and no limits.
    (machine.folder / "authority.pem").write_bytes((machine.folder / "leaf.pem").read_bytes())
    again = machine.start()
    assert again.fingerprint != keeper.fingerprint
    assert (machine.folder / "authority.broken").exists()


async def test_a_certificate_of_another_authority_is_replaced(tmp_path: Path) -> None:
    machine = Machine(tmp_path / "tls", datetime.now(UTC))
    machine.start()
    (machine.folder / "authority.pem").unlink()
    keeper = machine.start()
    async with served(keeper.context()) as port:
        await certificate_at(port, phone_that_trusts(keeper.authority_der), "pullcall.local")


def test_a_certificate_that_names_nothing_is_replaced(machine: Machine) -> None:
    machine.start()
    authority = from_pem((machine.folder / "authority.pem").read_bytes())
    empty = make_leaf(authority, "pit", (), (), NOON)
    (machine.folder / "leaf.pem").write_bytes(empty.to_pem())
    machine.start()
    assert machine.covers("pullcall.local")


def test_an_authority_whose_time_is_over_stays_and_is_told(
    machine: Machine, caplog: pytest.LogCaptureFixture
) -> None:
    fingerprint = machine.start().fingerprint
    machine.clock.set_wall(NOON + timedelta(days=4000))
    assert machine.start().fingerprint == fingerprint
    assert ["time is over" in told for told in warnings(caplog)] == [True]


def test_a_folder_that_cannot_be_written_is_told_with_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "state").write_text("a file in its place")
    with pytest.raises(ConfigError, match="let this user write there") as told:
        Machine(tmp_path / "state" / "tls").start()
    assert str(tmp_path / "state" / "tls") in str(told.value)


async def test_while_the_disk_is_full_the_old_certificate_serves(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    machine = Machine(tmp_path / "tls", datetime.now(UTC))
    keeper = machine.start()
    phone = phone_that_trusts(keeper.authority_der)
    async with served(keeper.context()) as port, running(keeper.watch()):
        await machine.clock.someone_waits()
        with monkeypatch.context() as full:
            full.setattr(Safe, "write", _no_space)
            machine.move_to("10.42.0.1")
            for _ in range(3):
                await machine.clock.pass_by(LOOK_S)
            await certificate_at(port, phone, "pullcall.local")
            assert ["No space left" in told for told in warnings(caplog)] == [True]
        await machine.clock.pass_by(LOOK_S)
        await certificate_at(port, phone, "10.42.0.1")


def _no_space(safe: Safe, name: str, credential: Credential) -> None:
    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_write_that_breaks_off_leaves_the_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    safe = Safe(tmp_path / "tls")
    first, second = (make_authority("pit", NAMES, NOON) for _ in range(2))
    safe.write("authority", first)

    def broken_off(descriptor: int) -> None:
        raise OSError(errno.EIO, "Input/output error")

    with monkeypatch.context() as failing:
        failing.setattr(os, "fsync", broken_off)
        with pytest.raises(OSError, match="Input/output"):
            safe.write("authority", second)
    assert safe.path("authority").read_bytes() == first.to_pem()
    safe.write("authority", second)
    assert safe.path("authority").read_bytes() == second.to_pem()
