"""A broker on loopback that lets anybody in and keeps nothing on disk, to be killed."""

from __future__ import annotations

import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.integration.daemon import free_port
from tests.tools import require_tool

_CONFIG = """
listener {port} 127.0.0.1
allow_anonymous true
persistence false
max_queued_messages 100000
log_type error
"""


class OpenBroker:
    """Runs, or was killed and may be started again on the same port."""

    def __init__(self, folder: Path) -> None:
        self.port = free_port()
        self._folder = folder
        self._program = require_tool("mosquitto", "mosquitto")
        self._process: subprocess.Popen[bytes] | None = None
        (folder / "mosquitto.conf").write_text(_CONFIG.format(port=self.port))

    @property
    def pid(self) -> int:
        assert self._process is not None
        return self._process.pid

    def toml(self, site: str = "") -> str:
        """The [mqtt] section of a site's configuration, or a board's."""
        return f'[mqtt]\nhost = "127.0.0.1"\nport = {self.port}\ntls = false\nsite = "{site}"\n'

    def start(self) -> None:
        """Start it, and return once it listens."""
        with (self._folder / "mosquitto.log").open("ab") as log:
            command = [self._program, "-c", str(self._folder / "mosquitto.conf")]
            self._process = subprocess.Popen(command, stdout=log, stderr=log)
        while True:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.01)

    def kill(self) -> None:
        """End it without any warning."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None


@contextmanager
def open_broker(folder: Path) -> Iterator[OpenBroker]:
    """A broker for a block's length."""
    one = OpenBroker(folder)
    one.start()
    try:
        yield one
    finally:
        one.kill()
