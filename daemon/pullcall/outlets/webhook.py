"""Posts each call as JSON to an address of the cook's choice."""

from __future__ import annotations

import asyncio
import json
import logging
from collections.abc import Sequence
from datetime import datetime

import httpx

from pullcall.clock import Clock
from pullcall.errors import ConfigError
from pullcall.events import Call
from pullcall.outlets.options import WebhookOptions
from pullcall.outlets.outlet import (
    Burst,
    OutletKind,
    OutletState,
    OutletStatus,
    Report,
    Reports,
)
from pullcall.outlets.post_queue import Post, PostQueue
from pullcall.outlets.signing import signature_headers

_log = logging.getLogger(__name__)

#: One try may take this long, seconds.
TIMEOUT_S = 2.0
#: A call older than this is not tried again, seconds.
FRESH_S = 10.0
#: Tries after the first, by priority.
RETRIES = {1: 2, 2: 1, 3: 1}
#: Before each further try, seconds.
_PAUSES_S = (0.5, 1.5)
#: Posts under way at once, so that one that hangs does not hold up the next.
_AT_ONCE = 3
#: Answers below 500 that may be better at another try: request timeout, too early, too many.
_MAY_PASS = frozenset({408, 425, 429})


class PostError(Exception):
    """One try failed. ``str`` says why without the address; ``is_final``: do not try again."""

    def __init__(self, reason: str, *, is_final: bool = False) -> None:
        super().__init__(reason)
        self.is_final = is_final


class Webhook:
    """Delivers calls to one address, a few at a time, never awaited by who announces.

    Redirects are not followed, proxies of the environment are not used, and answers are not read
    beyond their status. A full queue drops the oldest of the least urgent calls and reports them
    failed. Raises ConfigError for an address that cannot be posted to.
    """

    name = "webhook"
    kind = OutletKind.WEBHOOK

    def __init__(self, options: WebhookOptions, clock: Clock) -> None:
        self._options = options
        self._clock = clock
        self._host = _host_of(options.url)
        self._queue = PostQueue()
        self._some = asyncio.Event()
        self._report: Reports = _nobody
        self._trouble = ""
        self._last_played: float | None = None
        # At its usual level this logger writes whole addresses, which may hold secrets.
        logging.getLogger("httpx").setLevel(logging.WARNING)

    def begin_cook(self, steaks: Sequence[str]) -> None:
        """Each call names its steaks."""

    def announce(self, burst: Burst) -> None:
        """Queue each call of the burst."""
        now = self._clock.monotonic()
        for call in burst:
            dropped = self._queue.add(Post(call, _body(call, self._clock.wall()), now))
            if dropped is not None:
                self._tell(dropped.call, False, "too many calls were waiting")
        self._some.set()

    def silence(self, call_id: str) -> None:
        """Each announcement is posted once; there is nothing to stop."""

    def status(self) -> OutletStatus:
        """Failing while the last call could not be delivered."""
        state = OutletState.FAILING if self._trouble else OutletState.OK
        return OutletStatus(self.name, self.kind, state, self._trouble, self._last_played)

    async def run(self, report: Reports) -> None:
        """Post what is announced until cancelled."""
        self._report = report
        client = httpx.AsyncClient(timeout=TIMEOUT_S, follow_redirects=False, trust_env=False)
        async with client, asyncio.TaskGroup() as tasks:
            for number in range(_AT_ONCE):
                tasks.create_task(self._work(client), name=f"webhook {number + 1}")

    async def _work(self, client: httpx.AsyncClient) -> None:
        while True:
            post = self._queue.take()
            if post is None:
                self._some.clear()
                await self._some.wait()
            else:
                await self._deliver(client, post)

    async def _deliver(self, client: httpx.AsyncClient, post: Post) -> None:
        """Post one call, trying again while it is fresh, and report."""
        for pause_s in (*_PAUSES_S[: RETRIES[post.call.priority]], None):
            try:
                await self._try(client, post.body)
            except PostError as error:
                if pause_s is None or error.is_final or not await self._stays_fresh(post, pause_s):
                    self._fail(post.call, str(error))
                    return
            else:
                self._trouble = ""
                self._last_played = self._clock.monotonic()
                self._tell(post.call, True)
                return

    async def _stays_fresh(self, post: Post, pause_s: float) -> bool:
        """Pause, unless the call is too old by then."""
        again = self._clock.monotonic() + pause_s
        if again - post.since >= FRESH_S:
            return False
        await self._clock.sleep_until(again)
        return True

    async def _try(self, client: httpx.AsyncClient, body: bytes) -> None:
        """One try. Raises PostError."""
        stamp = int(self._clock.wall().timestamp())
        headers = {"Content-Type": "application/json"}
        headers |= signature_headers(self._options.secret, stamp, body)
        try:
            async with (
                asyncio.timeout(TIMEOUT_S),
                client.stream("POST", self._options.url, content=body, headers=headers) as answer,
            ):
                status = answer.status_code
        except (TimeoutError, httpx.TimeoutException) as exc:
            raise PostError(f"did not answer within {TIMEOUT_S:.0f} s") from exc
        except (httpx.HTTPError, httpx.InvalidURL, OSError, ValueError) as exc:
            raise PostError("cannot be reached") from exc
        if not 200 <= status < 300:
            final = status < 500 and status not in _MAY_PASS
            where = ", a redirect, which is not followed" if 300 <= status < 400 else ""
            raise PostError(f"answered {status}{where}", is_final=final)

    def _fail(self, call: Call, reason: str) -> None:
        note = f"{self._host} {reason}: check [webhook] url and what listens there."
        if not self._trouble:
            _log.warning("webhook: %s", note)
        self._trouble = note
        self._tell(call, False, note)

    def _tell(self, call: Call, played: bool, note: str = "") -> None:
        self._report(Report(call, self.name, played, self._clock.monotonic(), note))


def _host_of(url: str) -> str:
    """The host, which may be shown; the rest of an address may hold a secret."""
    try:
        parsed = httpx.URL(url)
    except (httpx.InvalidURL, TypeError):
        parsed = httpx.URL()
    if parsed.scheme not in ("http", "https") or not parsed.host:
        raise ConfigError(
            "[webhook] url is not an address that can be posted to: write it whole, such as "
            '"https://example.org/calls".'
        )
    return parsed.host


def _body(call: Call, wall: datetime) -> bytes:
    """What is posted: UTF-8 JSON, the same keys in the same order for every call."""
    content = {
        "id": call.id,
        "t": call.t,
        "at": wall.isoformat(timespec="milliseconds"),
        "steaks": call.steaks,
        "call": call.call,
        "in_s": call.in_s,
        "priority": call.priority,
        "text": call.text,
        "insistent": call.insistent,
    }
    return json.dumps(content, ensure_ascii=False, separators=(",", ":")).encode()


def _nobody(report: Report) -> None:
    """Before the outlet runs, reports reach nobody."""
