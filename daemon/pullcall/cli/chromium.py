"""A document as a picture or on paper, by the Chromium of this machine.

Chromium is asked over its own pipe (the DevTools protocol), with a profile of its own that is
thrown away; the document comes down the pipe too, so that no file of it lies about.
"""

from __future__ import annotations

import base64
import fcntl
import json
import os
import shutil
import signal
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Timer
from typing import Any

from pullcall.errors import PullcallError

_NAMES = ("chromium", "chromium-browser", "google-chrome")
#: Longer than any document takes; then Chromium is ended, seconds.
DEADLINE_S = 60.0
#: A phone held upright, CSS pixels, and dots for each.
_PHONE = {"width": 390, "height": 844, "deviceScaleFactor": 2, "mobile": True}
#: A picture has at most so many CSS pixels from top to bottom; a longer document is made smaller.
_TALLEST = 8_000.0
_CHUNK = 1 << 16


class BrowserError(PullcallError):
    """No browser could make the picture or the paper."""


def find_chromium() -> str:
    """Its path. Raises BrowserError that says what to install."""
    for name in _NAMES:
        if path := shutil.which(name):
            return path
    raise BrowserError(
        "A picture or PDF needs Chromium: install it (on Debian: apt install chromium), or write "
        "HTML with -o and print that from any browser."
    )


def png_of(html: str) -> bytes:
    """The whole document as wide as a phone. Raises BrowserError."""
    with _opened(html) as tab:
        tab.ask("Emulation.setDeviceMetricsOverride", **_PHONE)
        size = tab.ask("Page.getLayoutMetrics")["cssContentSize"]
        scale = min(1.0, _TALLEST / size["height"])
        clip = {"x": 0, "y": 0, "width": _PHONE["width"], "height": size["height"], "scale": scale}
        shot = tab.ask("Page.captureScreenshot", clip=clip, captureBeyondViewport=True)
    return base64.b64decode(shot["data"])


def pdf_of(html: str) -> bytes:
    """The document as it is printed, on A4. Raises BrowserError."""
    with _opened(html) as tab:
        paper = tab.ask("Page.printToPDF", paperWidth=8.27, paperHeight=11.69, printBackground=True)
    return base64.b64decode(paper["data"])


class _Tab:
    """One page of the browser, asked over two pipes: messages end with a zero byte."""

    def __init__(self, into: int, out: int) -> None:
        self._into, self._out = into, out
        self._rest = b""
        self._asked = 0
        self._session: str | None = None

    def attach(self) -> None:
        """Open a page and speak to that from now on."""
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.ask("Target.attachToTarget", targetId=target, flatten=True)[
            "sessionId"
        ]

    def ask(self, method: str, **params: Any) -> dict[str, Any]:
        """What Chromium answers. Raises BrowserError for a refusal, or when it has gone."""
        self._asked += 1
        message: dict[str, Any] = {"id": self._asked, "method": method, "params": params}
        if self._session:
            message["sessionId"] = self._session
        self._write(json.dumps(message).encode() + b"\0")
        while True:
            answer = self._read()
            if answer.get("id") == self._asked:
                break
        if "error" in answer:
            raise BrowserError(f"Chromium refused {method}: {answer['error'].get('message')}.")
        return dict(answer["result"])

    def _write(self, data: bytes) -> None:
        try:
            while data:
                data = data[os.write(self._into, data) :]
        except OSError as exc:
            raise _gone() from exc

    def _read(self) -> dict[str, Any]:
        while b"\0" not in self._rest:
            chunk = os.read(self._out, _CHUNK)
            if not chunk:
                raise _gone()
            self._rest += chunk
        message, _, self._rest = self._rest.partition(b"\0")
        return dict(json.loads(message))


def _gone() -> BrowserError:
    return BrowserError(
        f"Chromium ended or took longer than {DEADLINE_S:.0f} s: try again, or write HTML with -o "
        "and print that from any browser."
    )


@contextmanager
def _opened(html: str) -> Iterator[_Tab]:
    program = find_chromium()
    with (
        tempfile.TemporaryDirectory(prefix="pullcall-", ignore_cleanup_errors=True) as profile,
        _running(program, Path(profile)) as tab,
    ):
        tab.attach()
        frame = tab.ask("Page.getFrameTree")["frameTree"]["frame"]["id"]
        tab.ask("Page.setDocumentContent", frameId=frame, html=html)
        yield tab


@contextmanager
def _running(program: str, profile: Path) -> Iterator[_Tab]:
    """Chromium with its pipe at descriptors 3 and 4, ended whatever happens."""
    into_read, into_write = _pipe()
    out_read, out_write = _pipe()
    try:
        process = _start(_command(program, profile), into_read, out_write)
    finally:
        os.close(into_read)
        os.close(out_write)
    deadline = Timer(DEADLINE_S, _signal, (process, signal.SIGKILL))
    deadline.start()
    try:
        yield _Tab(into_write, out_read)
    finally:
        os.close(into_write)
        os.close(out_read)
        _signal(process, signal.SIGTERM)
        os.waitpid(process, 0)
        deadline.cancel()


def _pipe() -> tuple[int, int]:
    """Two ends, neither of which is a descriptor that Chromium's own ends are moved to."""
    ends = os.pipe()
    try:
        read, write = (fcntl.fcntl(end, fcntl.F_DUPFD_CLOEXEC, 10) for end in ends)
    finally:
        for end in ends:
            os.close(end)
    return read, write


def _command(program: str, profile: Path) -> list[str]:
    sandbox = ["--no-sandbox"] if os.geteuid() == 0 else []
    return [
        program,
        "--headless",
        "--disable-gpu",
        "--no-first-run",
        "--disable-dev-shm-usage",
        "--disable-background-networking",
        "--remote-debugging-pipe",
        f"--user-data-dir={profile}",
        *sandbox,
    ]


def _start(command: list[str], into: int, out: int) -> int:
    """Start it in a group of its own; its output goes nowhere."""
    quiet = [(os.POSIX_SPAWN_OPEN, n, os.devnull, os.O_RDWR, 0) for n in range(3)]
    pipe = [(os.POSIX_SPAWN_DUP2, into, 3), (os.POSIX_SPAWN_DUP2, out, 4)]
    try:
        return os.posix_spawn(
            command[0], command, os.environ, file_actions=[*quiet, *pipe], setpgroup=0
        )
    except OSError as exc:
        raise BrowserError(f"Chromium does not start ({exc.strerror}): install it anew.") from exc


def _signal(process: int, number: int) -> None:
    """Signal it and all that it started."""
    with suppress(ProcessLookupError):
        os.killpg(process, number)
