"""A real broker for tests: mosquitto on free ports, with TLS, users and an access list."""

from __future__ import annotations

import socket
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import trustme

from pullcall.bus.options import BrokerOptions
from tests.integration.daemon import free_pair
from tests.tools import require_tool

#: The broker as it is deployed; its paths and ports are changed for a test, and nothing else.
EXAMPLE = Path(__file__).parents[1] / "config" / "broker"
#: Users that every broker of a test knows, with their password, which is the name backwards.
#: Sites write below their own branch; boards read; gateways write below "gateway".
USERS = ("north", "south", "east", "board", "gateway", "home", "archive")
_NO_SITES = ("board", "gateway", "home", "archive")
#: The witness of tests, who sees everything that passes.
_WITNESS = "\nuser archive\ntopic read #\n"


@dataclass(slots=True)
class Broker:
    """A broker that runs, or was stopped and may be started again on the same ports."""

    program: str
    folder: Path
    plain: int
    secure: int
    process: subprocess.Popen[bytes] | None = None

    def options(self, user: str, *, tls: bool = True) -> BrokerOptions:
        """How ``user`` reaches it."""
        return BrokerOptions(
            host="localhost",
            port=self.secure if tls else self.plain,
            tls=tls,
            user=user,
            password=user[::-1],
            ca=self.folder / "ca.pem" if tls else None,
        )

    def toml(self, user: str, *, tls: bool = True) -> str:
        """The same as the [mqtt] section of a site's configuration, or a board's."""
        options = self.options(user, tls=tls)
        site = "" if user in _NO_SITES else user
        lines = [
            "[mqtt]",
            f'host = "{options.host}"',
            f"port = {options.port}",
            f"tls = {str(tls).lower()}",
            f'user = "{user}"',
            f'password = "{options.password}"',
            f'site = "{site}"',
            *([f'ca = "{options.ca}"'] if tls else []),
        ]
        return "\n".join(lines) + "\n"

    def start(self) -> None:
        """Start it, and return once it listens."""
        assert self.process is None
        command = [self.program, "-c", str(self.folder / "mosquitto.conf")]
        with (self.folder / "log").open("ab") as log:
            self.process = subprocess.Popen(command, stdout=log, stderr=log)
        for port in (self.plain, self.secure):
            self._await_port(port)

    def kill(self) -> None:
        """End it without any warning."""
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            self.process = None

    def _await_port(self, port: int) -> None:
        assert self.process is not None
        while True:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", port)) == 0:
                    return
            if self.process.poll() is not None:
                raise AssertionError((self.folder / "log").read_text())


@contextmanager
def running_broker(folder: Path) -> Iterator[Broker]:
    """A broker for a block's length; its files are in ``folder``."""
    program = require_tool("mosquitto", "mosquitto")
    folder.mkdir(parents=True, exist_ok=True)
    plain = free_pair()
    secure = plain + 1
    authority = trustme.CA()
    server = authority.issue_cert("localhost", "127.0.0.1")
    authority.cert_pem.write_to_path(folder / "ca.pem")
    server.private_key_pem.write_to_path(folder / "server.key")
    server.cert_chain_pems[0].write_to_path(folder / "server.pem")
    _write_passwords(folder / "passwords")
    (folder / "access").write_text((EXAMPLE / "access").read_text() + _WITNESS)
    (folder / "mosquitto.conf").write_text(_config(folder, plain, secure))
    broker = Broker(program, folder, plain, secure)
    broker.start()
    try:
        yield broker
    finally:
        broker.kill()


def _config(folder: Path, plain: int, secure: int) -> str:
    """The example with the paths and ports of a test."""
    config = (EXAMPLE / "mosquitto.conf").read_text()
    (folder / "data").mkdir(exist_ok=True)
    for theirs, ours in (
        ("/var/lib/mosquitto/", f"{folder}/data/"),
        ("/etc/mosquitto/", f"{folder}/"),
        ("listener 1883 ", f"listener {plain} "),
        ("listener 8883\n", f"listener {secure} 127.0.0.1\n"),
    ):
        assert theirs in config
        config = config.replace(theirs, ours)
    if _is_root():
        config += "user root\n"  # or it could not read the files of a test
    return config


def _write_passwords(path: Path) -> None:
    make = require_tool("mosquitto_passwd", "mosquitto")
    path.write_text("".join(f"{user}:{user[::-1]}\n" for user in USERS))
    path.chmod(0o600)
    subprocess.run([make, "-U", str(path)], check=True, capture_output=True)


def _is_root() -> bool:
    return Path("/proc/self").stat().st_uid == 0
