"""A broker for a demo or a bench: mosquitto on loopback, open to this machine, nothing on disk."""

from __future__ import annotations

import os
import random
import shutil
import socket
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from pullcall.bus.options import BrokerOptions
from pullcall.errors import BrokerError

_CONFIG = """
listener {port} 127.0.0.1
allow_anonymous true
persistence false
max_queued_messages 100000
log_type error
"""
#: No test's seed makes two processes draw the same.
_DRAWS = random.SystemRandom()
#: However this process ends, the broker does too.
_ENDS_WITH_US = ("setpriv", "--pdeathsig", "TERM") if shutil.which("setpriv") else ()


class OpenBroker:
    """Runs, or was killed and may be started again on the same port.

    Raises BrokerError where mosquitto is not installed or does not start.
    """

    def __init__(self, folder: Path) -> None:
        found = shutil.which("mosquitto", path=os.environ.get("PATH", "") + ":/usr/sbin:/sbin")
        if found is None:
            raise BrokerError(
                "This needs the broker mosquitto: install it, on Debian by `make system`."
            )
        self.port = _free_port()
        self._program = found
        self._folder = folder
        self._process: subprocess.Popen[bytes] | None = None
        config = _CONFIG.format(port=self.port)
        if os.geteuid() == 0:
            config += "user root\n"  # who changes its user forgets to end with its owner
        (folder / "mosquitto.conf").write_text(config, encoding="utf-8")

    @property
    def pid(self) -> int:
        """Its process, while it runs."""
        assert self._process is not None
        return self._process.pid

    def options(self) -> BrokerOptions:
        """How to reach it."""
        return BrokerOptions("127.0.0.1", self.port, tls=False)

    def toml(self, site: str = "") -> str:
        """The [mqtt] section of a site's configuration, or a board's."""
        return f'[mqtt]\nhost = "127.0.0.1"\nport = {self.port}\ntls = false\nsite = "{site}"\n'

    def start(self) -> None:
        """Start it, and return once it listens."""
        with (self._folder / "mosquitto.log").open("ab") as log:
            command = [*_ENDS_WITH_US, self._program, "-c", str(self._folder / "mosquitto.conf")]
            # Ctrl-C in a terminal is for the owner, who then ends this.
            self._process = subprocess.Popen(
                command, stdout=log, stderr=log, start_new_session=True
            )
        while not listens(self.port):
            if self._process.poll() is not None:
                raise BrokerError(f"mosquitto did not start: {self._said()}")

    def kill(self) -> None:
        """End it without any warning."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def _said(self) -> str:
        return (self._folder / "mosquitto.log").read_text(encoding="utf-8").strip()


@contextmanager
def open_broker(folder: Path) -> Iterator[OpenBroker]:
    """A broker for a block's length."""
    one = OpenBroker(folder)
    one.start()
    try:
        yield one
    finally:
        one.kill()


def _free_port() -> int:
    """One that nobody listens on, below those that the system hands out by itself.

    One of those may be handed out again before the broker has it, even to who looks whether the
    broker is there: it then finds itself.
    """
    while True:
        port = _DRAWS.randrange(20000, 32000)
        with socket.socket() as probe, suppress(OSError):
            probe.bind(("127.0.0.1", port))
            return port


def listens(port: int) -> bool:
    """Whether anything listens on a port of this machine."""
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0
