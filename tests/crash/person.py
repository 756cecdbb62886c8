"""The people at the cook: they tap, write, pair and answer, and note what was confirmed."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import Awaitable, Callable
from random import Random
from typing import Any

import httpx

from pullcall.events import Mark
from tests.crash.acknowledged import Acknowledged
from tests.crash.feed import Feed
from tests.crash.life import Life, Place

Message = dict[str, Any]
_STEAKS = ("left", "right")
_BETWEEN_S = (0.4, 1.6)
#: Lessons that somebody may set a figure of their own for, and figures that are allowed.
_LESSONS = {"reaction": (1.5, 6.0), "carry_over": (1.0, 5.0)}


class People:
    """Act on whichever life runs now (``life``), for the cook whose confirmations are kept.

    ``phones`` are the ids of pairings by what was confirmed last of them: True paired, False
    revoked; one whose request was never answered is not in it.
    """

    def __init__(self, feed: Feed, rng: Random) -> None:
        self.life: Life | None = None
        self.acknowledged = Acknowledged()
        self.cook = ""
        self.phones: dict[str, bool] = {}
        self.choices: dict[str, set[float | None]] = {}
        #: Answers by which the daemon owned to a fault of its own.
        self.faults: list[str] = []
        self._feed = feed
        self._rng = rng
        self._count = 0
        self._acts: asyncio.Queue[tuple[Mark, float]] = asyncio.Queue()
        self._marked: list[str] = []
        self._answering: set[asyncio.Task[None]] = set()

    def begin(self, cook: str) -> None:
        """Another cook runs: what is confirmed from here on is confirmed of it."""
        self.cook, self.acknowledged = cook, Acknowledged()
        self._marked.clear()
        while not self._acts.empty():
            self._acts.get_nowait()

    def does(self, mark: Mark, at: float) -> None:
        """The simulated cook did this at ``at`` (monotonic seconds): it is to be marked."""
        self._acts.put_nowait((mark, at))

    async def run(self) -> None:
        """Act until cancelled."""
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._mark_acts(), name="marks")
            tasks.create_task(self._busy(), name="busy")

    def hears(self, call: Message) -> None:
        """A call reached the page: a pull is obeyed, and some alarms are answered."""
        if call["call"] == "pull_now":
            for steak in call["steaks"]:
                self._feed.told_to_pull(steak)
        often = 0.05 if call["call"] == "unheard" else 0.3
        if call["call"] not in ("turn", "flip", "pull_hold") and self._rng.random() < often:
            answer = self._answer(call["id"], self._rng.uniform(0.0, 4.0))
            task = asyncio.create_task(answer, name="answer")
            self._answering.add(task)
            task.add_done_callback(self._answering.discard)

    async def settle(self) -> None:
        """Write of a steak's looks before the first kill may come: this is always confirmed."""
        assert await self._set("steaks/left", "left", "look", "begun"), "it does not answer"

    async def baste(self) -> None:
        """A mark that changes little, at any time."""
        await self._mark({"mark": "lid_open"})

    async def write(self) -> None:
        """A note: it changes nothing of the cook, and fills the log."""
        await self._note()

    async def _mark_acts(self) -> None:
        """Mark what was done; what the page does not show afterwards is tapped again."""
        loop = asyncio.get_running_loop()
        while True:
            act, at = await self._acts.get()
            cook = self.cook
            while cook == self.cook and not await self._is_marked(act):
                body: Message = {"mark": str(act.mark), "steak": act.steak}
                if (ago := loop.time() - at) > 1.0:
                    body["ago_s"] = round(ago, 1)
                if await self._mark(body):
                    break
                await asyncio.sleep(0.3)

    async def _is_marked(self, act: Mark) -> bool:
        """Whether the page shows it: an answer may have been lost, and the mark not."""
        answer = await self._ask("GET", "snapshot")
        if answer is None:
            return False
        t = answer.json()["t"] - self._feed.now() + act.t
        return any(
            (m["mark"], m["steak"]) == (str(act.mark), act.steak)
            and abs((m["at"] if m["at"] is not None else m["t"]) - t) < 5.0
            for m in answer.json()["marks"]
        )

    async def _mark(self, body: Message) -> bool:
        """Tap a mark; whether it was answered at all."""
        answer = await self._ask("POST", "marks", body)
        if answer is None:
            return False
        if answer.status_code == 201:
            self.acknowledged.confirm({"record": "mark", **answer.json()})
            if body["mark"] == "lid_open":
                self._marked.append(answer.json()["id"])
        return True

    async def _busy(self) -> None:
        acts: dict[Callable[[], Awaitable[None]], float] = {
            self._spot: 4.0,
            self._look: 4.0,
            self._pull: 2.0,
            self._cook_setting: 2.0,
            self._undo: 3.0,
            self._note: 4.0,
            self._pair: 1.0,
            self._choose: 1.0,
            self._shelve: 1.0,
        }
        while True:
            await asyncio.sleep(self._rng.uniform(*_BETWEEN_S))
            (act,) = self._rng.choices(list(acts), list(acts.values()))
            await act()

    async def _spot(self) -> None:
        steak = self._rng.choice(_STEAKS)
        celsius = round(self._feed.kitchen.core_c(steak) + self._rng.gauss(0.0, 0.3), 1)
        answer = await self._ask("POST", "spots", {"steak": steak, "celsius": celsius})
        if answer is not None and answer.status_code == 201:
            self.acknowledged.confirm({"record": "spot", **answer.json()})

    async def _look(self) -> None:
        steak = self._rng.choice(_STEAKS)
        await self._set(f"steaks/{steak}", steak, "look", self._new("look"))

    async def _pull(self) -> None:
        steak = self._rng.choice(_STEAKS)
        self._count += 1
        value = round(53.9 + (self._count % 20) / 100.0, 2)
        await self._set(f"steaks/{steak}", steak, "pull_c", value)

    async def _cook_setting(self) -> None:
        self._count += 1
        await self._set("cook", None, "aim_share", round(0.3 + (self._count % 90) / 1000.0, 3))

    async def _set(self, path: str, steak: str | None, name: str, value: Any) -> bool:
        """Change a setting; whether that was confirmed."""
        answer = await self._ask("PATCH", path, {name: value})
        if answer is None or answer.status_code != 200:
            return False
        record = {"record": "setting", "steak": steak, "name": name, "value": value}
        self.acknowledged.confirm(record)
        return True

    async def _undo(self) -> None:
        if not self._marked:
            await self._mark({"mark": "lid_open"})
            return
        id = self._marked.pop()
        answer = await self._ask("DELETE", f"marks/{id}")
        if answer is not None and answer.status_code == 204:
            self.acknowledged.confirm({"record": "undo", "id": id})

    async def _note(self) -> None:
        note = {"steak": None, "name": "notes", "value": self._new("note")}
        cook, kept = self.cook, self.acknowledged
        answer = await self._ask("PATCH", f"cooks/{cook}", {"notes": [note]})
        if answer is not None and answer.status_code == 200:
            kept.confirm({"record": "note", **note})

    async def _answer(self, call: str, after_s: float) -> None:
        await asyncio.sleep(after_s)
        body = {"call": call, "by": self._new("hand")}
        kept = self.acknowledged
        answer = await self._ask("POST", "acknowledgements", body)
        if answer is not None and answer.status_code == 201:
            kept.confirm({"record": "ack", **body, "by": answer.json()["by"]})

    async def _shelve(self) -> None:
        calls = [c for c in self.acknowledged.calls.values() if c["priority"] > 1]
        if not calls:
            return
        body = {"call": self._rng.choice(calls)["id"], "by": self._new("hand"), "for_s": 5.0}
        answer = await self._ask("POST", "shelvings", body)
        if answer is not None and answer.status_code == 201:
            self.acknowledged.confirm({"record": "shelve", **body, "by": answer.json()["by"]})

    async def _choose(self) -> None:
        name = self._rng.choice(list(_LESSONS))
        low, high = _LESSONS[name]
        value = round(self._rng.uniform(low, high), 2)
        known = self.choices.setdefault(name, {None})
        known.add(value)  # unanswered it may stand or not
        answer = await self._ask("PUT", f"learned/{name}", {"mode": "own", "value": value})
        if answer is not None and answer.status_code == 200:
            self.choices[name] = {value}

    async def _pair(self) -> None:
        """Pair a phone as a guest would, or revoke one."""
        paired = [id for id, is_paired in self.phones.items() if is_paired]
        if len(paired) > 3:
            del self.phones[paired[0]]  # until it is answered either may be so
            answer = await self._ask("DELETE", f"pairings/{paired[0]}")
            if answer is not None and answer.status_code == 204:
                self.phones[paired[0]] = False
            return
        name = self._new("phone")
        invited = await self._ask("POST", "invitations", {"role": "hand", "label": name})
        if invited is None or self.life is None:
            return
        secret = invited.json()["links"][0].partition("#k=")[2]
        if not await claim(self.life.place, secret, name):
            return
        listed = await self._ask("GET", "pairings")
        if listed is not None:
            self.phones |= {one["id"]: True for one in listed.json() if one["name"] == name}

    def _new(self, what: str) -> str:
        """A text that was never used before."""
        self._count += 1
        return f"{what} {self._count}"

    async def _ask(self, method: str, path: str, body: object = None) -> httpx.Response | None:
        life = self.life
        if life is None:
            return None
        answer = await life.ask(method, path, body)
        if answer is not None and answer.status_code == 503:
            return None  # it is being stopped, and said so
        if answer is not None and answer.status_code >= 500:
            self.faults.append(f"{method} {path}: {answer.status_code} {answer.text}")
            return None
        return answer


async def claim(place: Place, secret: str, name: str) -> bool:
    """Pair a phone over TLS by the secret of a link; whether it was answered so.

    It does not check who answers: that phones can is shown elsewhere.
    """
    url = f"https://127.0.0.1:{place.port}/api/v1/pairings"
    headers = {"Host": f"pullcall.local:{place.port}"}
    with contextlib.suppress(httpx.TransportError):
        async with httpx.AsyncClient(verify=False, headers=headers) as phone:
            answer = await phone.post(url, json={"secret": secret, "name": name})
            return answer.status_code == 201
    return False


def kept_phones(place: Place) -> set[str]:
    """The ids of the phones that the file of pairings knows."""
    file = place.log.with_suffix(".paired.json")
    if not file.exists():
        return set()
    return {one["id"] for one in json.loads(file.read_text())["pairings"]}
