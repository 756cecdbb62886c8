"""What is served where, and what a phone is told, by the settings of the page."""

from __future__ import annotations

import asyncio
import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
import trustme
from fastapi import FastAPI

from pullcall.api.front import Front
from pullcall.api.lobby import Lobby
from pullcall.api.sight.feeds import Feeds
from pullcall.cli.doors import Doors, banner, doors_around, open_doors, pairings_beside, welcome
from pullcall.clock import RealClock
from pullcall.errors import AddressInUseError, ConfigError
from pullcall.events import CookHeader, SteakSettings
from pullcall.network.announcer import Announcer
from pullcall.served_section import PageSection
from pullcall.site.recorded import RecordedSite
from pullcall.tls.files import CertificateFiles
from tests.integration.daemon import free_pair
from tests.outlets.ears import until
from tests.recorded import bare_recording

HEADER = CookHeader("c", datetime(2026, 6, 13, tzinfo=UTC).isoformat(), (SteakSettings("left"),))


@pytest.fixture(autouse=True)
def own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))


def bare_app(front: Front) -> FastAPI:
    """An application of which only the feeds are looked at."""
    app = FastAPI()
    site = RecordedSite(HEADER, bare_recording(), "F", 1)
    app.state.feeds = Feeds(site, RealClock(), site.edges)
    return app


@contextmanager
def opened(**settings: object) -> Iterator[Doors]:
    page = PageSection.model_validate({"port": free_pair(), **settings})
    site = RecordedSite(HEADER, bare_recording(), "F", 1)
    with open_doors(page, None, RealClock()) as doors_of:
        yield doors_of(site)


def test_by_default_only_this_machine_gets_in(capsys: pytest.CaptureFixture[str]) -> None:
    with opened() as doors:
        assert [door.tls for door in doors.doors] == [None]
        assert doors.links() == ()
        assert "--host 0.0.0.0" in "\n".join(welcome(doors))


def test_phones_come_in_over_tls_and_this_machine_over_plain_http() -> None:
    with opened(host="0.0.0.0") as doors:
        main, plain = doors.doors
        assert main.tls is not None
        assert plain.tls is None
        assert isinstance(plain.app, Lobby)
        assert all(link.startswith("https://") for link in doors.links())
        assert doors.links()[-1].startswith("https://pullcall.local:")
        assert doors.here.startswith("http://127.0.0.1:")
        told = "\n".join(welcome(doors))
    assert doors.fingerprint is not None
    assert doors.fingerprint.split()[-1] in told
    assert str(doors.trust) in told


def test_secrets_are_told_on_a_terminal_only(monkeypatch: pytest.MonkeyPatch) -> None:
    with opened(host="0.0.0.0") as doors:
        assert doors.access is not None
        assert "pullcall pair" in "\n".join(welcome(doors))
        assert doors.access.invitations() == ()
        monkeypatch.setattr("sys.stdout.isatty", lambda: True)
        told = "\n".join(welcome(doors))
        assert "and type" in told
        assert [one.role for one in doors.access.invitations()] == ["cook"]


def test_without_tls_the_page_is_plain_and_phones_only_watch_unless_that_is_said() -> None:
    with opened(host="0.0.0.0", tls="off") as doors:
        assert [door.tls for door in doors.doors] == [None]
        assert doors.fingerprint is None
        assert all(link.startswith("http://") for link in doors.links())
    silent = PageSection(host="0.0.0.0", tls="off")
    assert banner(silent) is None
    loud = banner(silent.model_copy(update={"plain_control": True}))
    assert loud is not None
    assert "not encrypted" in loud


def test_an_address_of_its_own_keeps_a_way_in_for_this_machine() -> None:
    with opened(host="127.0.0.1") as local:
        assert len(local.doors) == 1
    with opened(host="::", tls="off") as both:
        assert len(both.doors) == 1


def test_the_names_of_the_cooks_own_certificate_come_first(tmp_path: Path) -> None:
    issued = trustme.CA().issue_cert("grill.example.org")
    certificate, key = tmp_path / "grill.pem", tmp_path / "grill.key"
    issued.cert_chain_pems[0].write_to_path(certificate)
    issued.private_key_pem.write_to_path(key)
    with opened(host="0.0.0.0", tls="files", certificate=certificate, key=key) as doors:
        assert doors.links()[0].startswith("https://grill.example.org:")
        assert doors.fingerprint is None


def test_a_taken_port_is_said_with_what_to_do() -> None:
    with opened() as doors:
        taken = doors.doors[0].place.port
        with pytest.raises(AddressInUseError, match="--port"), opened(port=taken):
            pass


def test_calls_that_come_first_do_not_wait_for_a_taken_port(
    caplog: pytest.LogCaptureFixture,
) -> None:
    site = RecordedSite(HEADER, bare_recording(), "F", 1)
    with opened() as other:
        page = PageSection.model_validate({"port": other.doors[0].place.port})
        with open_doors(page, None, RealClock(), calls_first=lambda _: True) as doors_of:
            assert "looking whether a cook goes on" in caplog.text, "said before that is known"
            doors = doors_of(site)
            assert doors.trouble is not None
            assert len(doors.doors) == 1, "it is opened once the port is free"
            assert "the calls go on" in "\n".join(welcome(doors))
        with (
            open_doors(page, None, RealClock(), calls_first=lambda _: False) as doors_of,
            pytest.raises(AddressInUseError, match="--port"),
        ):
            doors_of(site)


def certified(tmp_path: Path) -> tuple[PageSection, trustme.LeafCert]:
    """A page with a certificate of the cook's own, which is broken for now."""
    issued = trustme.CA().issue_cert("grill.example.org")
    certificate, key = tmp_path / "grill.pem", tmp_path / "grill.key"
    certificate.write_text("broken")
    issued.private_key_pem.write_to_path(key)
    settings = {"host": "0.0.0.0", "tls": "files", "certificate": certificate, "key": key}
    return PageSection.model_validate({"port": free_pair(), **settings}), issued


async def test_calls_that_come_first_do_not_wait_for_a_broken_certificate(tmp_path: Path) -> None:
    page, issued = certified(tmp_path)
    site = RecordedSite(HEADER, bare_recording(), "F", 1)
    with open_doors(page, None, RealClock(), calls_first=lambda _: True) as doors_of:
        doors = doors_of(site)
        assert (doors.doors, doors.trouble is None) == ((), False)
        (later,) = doors.others
        with pytest.raises(ConfigError):
            await later.begin()
        assert page.certificate is not None
        issued.cert_chain_pems[0].write_to_path(page.certificate)
        serving = asyncio.create_task(later.begin())
        async with asyncio.timeout(60):
            while not await _lets_in(page.port):  # noqa: ASYNC110 - only asking shows it
                await asyncio.sleep(0.02)
        serving.cancel()
        await asyncio.gather(serving, return_exceptions=True)


async def test_a_page_that_is_opened_late_holds_up_nothing_and_tells_what_does_not_go(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, issued = certified(tmp_path)
    threads: list[threading.Thread] = []
    looked = CertificateFiles.look

    def look(files: CertificateFiles) -> None:
        threads.append(threading.current_thread())
        looked(files)

    async def broken(files: CertificateFiles) -> None:
        raise KeyError("planted")

    monkeypatch.setattr(CertificateFiles, "look", look)
    monkeypatch.setattr(CertificateFiles, "watch", broken)
    monkeypatch.setattr(Announcer, "run", lambda _: asyncio.Event().wait())  # to nobody
    site = RecordedSite(HEADER, bare_recording(), "F", 1)
    with open_doors(page, None, RealClock(), calls_first=lambda _: True) as doors_of:
        (later,) = doors_of(site).others
        assert page.certificate is not None
        issued.cert_chain_pems[0].write_to_path(page.certificate)
        serving = asyncio.create_task(site.edges.keep(later))
        await until(lambda: "certificate" in {one.part for one in site.troubles()})
        serving.cancel()
        await asyncio.gather(serving, return_exceptions=True)
    assert threads[0] is threading.main_thread(), "before anything runs"
    assert threading.main_thread() not in threads[1:]


async def _lets_in(port: int) -> bool:
    """Whether a hand is shaken there over TLS, with whoever it is."""
    anybody = ssl.create_default_context()
    anybody.check_hostname, anybody.verify_mode = False, ssl.CERT_NONE
    try:
        _, writer = await asyncio.open_connection("127.0.0.1", port, ssl=anybody)
    except OSError:
        return False
    writer.close()
    return True


def test_a_board_has_an_authority_of_its_own_beside_the_sites(tmp_path: Path) -> None:
    """On one machine neither takes the other's certificate away."""
    page = PageSection.model_validate({"port": free_pair(), "host": "0.0.0.0"})
    with opened(host="0.0.0.0") as site, doors_around(page, RealClock(), "board-tls") as doors_of:
        board = doors_of(bare_app)
        assert board.fingerprint not in (None, site.fingerprint)
    kept = {path.parent.name for path in tmp_path.rglob("authority.pem")}
    assert kept == {"tls", "board-tls"}


def test_pairings_lie_beside_their_log() -> None:
    assert pairings_beside(Path("/var/lib/x/cooks.db")) == Path("/var/lib/x/cooks.paired.json")
