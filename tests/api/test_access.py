"""Who may do what. Requirements are those of OWASP ASVS, checked against its 5.0.0 text."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path
from typing import Any
from urllib.parse import urldefrag, urlsplit

import httpx
import pytest

from pullcall.access.access import Access
from pullcall.access.limits import OF_SNAPSHOTS, OF_STREAMS
from pullcall.access.records import Sight
from pullcall.access.role import Right, Role
from pullcall.access.terms import PLACES
from pullcall.api.app import create_app
from pullcall.api.guard.rights import NEEDED, OPEN, PREFIX
from pullcall.clock import RealClock
from pullcall.events import Condition, Fault
from pullcall.site.live import Site
from tests.api.site_client import NAME, Served, detail
from tests.api.streams import Events, Socket

BODIES: dict[str, Any] = {
    "/marks": {"mark": "on", "steak": "left"},
    "/spots": {"steak": "left", "celsius": 20.0},
    "/acknowledgements": {"call": "c1"},
    "/shelvings": {"call": "c1"},
    "/proposals": {"proposal": "p1", "is_so": True},
    "/phones": {"phone": "abcd", "armed": True},
    "/receipts": {"phone": "abcd", "call": "c1"},
    "/cook": {"rest_on": "board"},
    "/steaks/{name}": {"pull_c": 60.0},
    "/cooks": {},
    "/invitations": {"role": "cook"},
}


#: Its stream never ends: the tests of streams read it.
EVENTS = ("GET", "/events")


def requests() -> list[tuple[str, str]]:
    return [key for key in NEEDED if key[0] != "WEBSOCKET"]


async def ask(client: httpx.AsyncClient, method: str, path: str) -> httpx.Response:
    filled = path.replace("{id}", "x1").replace("{name}", "left")
    body = BODIES.get(path) if method in ("POST", "PATCH") else None
    return await client.request(method, PREFIX + filled, json=body)


async def status_with(served: Served, token: str) -> int:
    async with served.stranger() as client:
        headers = {"Cookie": f"__Host-pullcall={token}"}
        return (await client.get("/api/v1/snapshot", headers=headers)).status_code


def test_every_route_has_its_right_in_the_table(served: Served) -> None:
    """ASVS 8.1.1: the rules of who may do what are written down."""
    described = served.app.openapi()["paths"]
    routes = {
        (method.upper(), path.removeprefix(PREFIX))
        for path, of in described.items()
        for method in of
    }
    assert routes - OPEN == set(NEEDED) - {("WEBSOCKET", "/stream")}


@pytest.mark.parametrize(("method", "path"), requests(), ids=" ".join)
async def test_a_stranger_can_neither_read_nor_act(served: Served, method: str, path: str) -> None:
    """ASVS 8.2.1: a function is for those who were given it; 8.3.1: the site sees to that."""
    async with served.stranger() as client:
        answer = await ask(client, method, path)
    assert answer.status_code == 401
    assert "pullcall pair" in detail(answer)
    assert served.site.cook.steaks["left"].phase == "waiting"


@pytest.mark.parametrize(
    ("method", "path"), [one for one in requests() if one != EVENTS], ids=" ".join
)
async def test_a_watcher_can_read_and_nothing_else(served: Served, method: str, path: str) -> None:
    """ASVS 8.2.1."""
    async with served.phone(Role.WATCHER) as client:
        answer = await ask(client, method, path)
    may = NEEDED[method, path] is Right.READ
    assert answer.status_code < 300 if may else answer.status_code == 403, answer.text
    assert served.site.cook.steaks["left"].phase == "waiting"


async def test_a_hand_marks_but_changes_no_settings(served: Served) -> None:
    """ASVS 8.2.1."""
    async with served.phone(Role.HAND) as client:
        assert (await ask(client, "POST", "/marks")).status_code == 201
        refused = await ask(client, "PATCH", "/steaks/{name}")
        assert refused.status_code == 403
        assert "cook's phone" in detail(refused)
        assert (await ask(client, "GET", "/pairings")).status_code == 403


async def test_this_machine_is_a_cook_without_pairing(served: Served) -> None:
    async with served.here() as client:
        answer = (await client.get("/api/v1/visitor")).json()
        assert (answer["role"], answer["here"]) == ("cook", True)
        assert (await ask(client, "POST", "/marks")).status_code == 201


@pytest.mark.parametrize(
    "header",
    [
        "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Forwarded-Anything",
        "Forwarded", "Via", "X-Real-IP", "X-Client-IP", "CF-Connecting-IP", "True-Client-IP",
    ],
)  # fmt: skip
async def test_a_proxy_on_this_machine_lets_no_stranger_in(served: Served, header: str) -> None:
    async with served.here() as client:
        answer = await client.get("/api/v1/snapshot", headers={header: "203.0.113.9"})
    assert answer.status_code == 401


async def test_a_loopback_address_under_another_name_is_a_stranger(served: Served) -> None:
    """A page elsewhere can make its own name lead to 127.0.0.1 (DNS rebinding)."""
    async with served.stranger("http", "127.0.0.1") as client:
        assert (await client.get("/api/v1/snapshot")).status_code == 401


async def test_a_code_pairs_a_phone_once(served: Served) -> None:
    """ASVS 6.5.1: a code is good for one use."""
    async with served.here() as here:
        invited = (await here.post("/api/v1/invitations", json={"role": "hand"})).json()
    body = {"code": invited["code"], "name": "Android phone"}
    async with served.stranger() as phone, served.stranger() as other:
        answer = await phone.post("/api/v1/pairings", json=body)
        assert (answer.status_code, answer.json()["role"]) == (201, "hand")
        again = await other.post("/api/v1/pairings", json=body)
        assert again.status_code == 403
        assert "ask the cook" in detail(again)


async def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(served: Served) -> None:
    """ASVS 3.3.1: Secure; 3.3.2: SameSite; 3.3.3: a prefix, so that it is this host's alone;
    3.3.4: HttpOnly, and its value is in no body."""
    invited = served.access.invite(Role.COOK, "", None, Sight())
    async with served.stranger() as client:
        answer = await client.post("/api/v1/pairings", json={"secret": invited.secret})
    cookie = answer.headers["set-cookie"].lower()
    words = ("secure", "httponly", "samesite=strict", "max-age=", "path=/;")
    assert all(word in cookie for word in words)
    assert "domain" not in cookie
    assert answer.cookies["__Host-pullcall"] not in answer.text


async def test_a_cookie_planted_over_plain_http_is_none_over_tls(served: Served) -> None:
    """A rival answers in the site's place over plain http, and plants a watcher's cookie."""
    invited = served.access.invite(Role.WATCHER, "", None, Sight())
    token = served.access.claim_secret(invited.secret, "rival").token
    async with served.stranger() as phone:
        answer = await phone.get("/api/v1/visitor", headers={"Cookie": f"pullcall={token}"})
        assert answer.json()["role"] is None
    async with served.phone(Role.COOK) as phone:
        own = phone.cookies["__Host-pullcall"]
        planted = {"Cookie": f"pullcall={token}; __Host-pullcall={own}"}
        assert (await phone.get("/api/v1/visitor", headers=planted)).json()["role"] == "cook"


@pytest.mark.parametrize(
    "headers", [{"Origin": f"https://{NAME}"}, {"Sec-Fetch-Site": "same-origin"}], ids=str
)
async def test_a_cookie_planted_over_plain_http_is_none_behind_what_ends_tls(
    served: Served, headers: dict[str, str]
) -> None:
    """A balancer hands on plain http; the browser's own words tell that it was none to it."""
    invited = served.access.invite(Role.WATCHER, "", None, Sight())
    planted = {"Cookie": f"pullcall={served.access.claim_secret(invited.secret, 'rival').token}"}
    async with served.stranger("http") as phone:
        answer = await phone.get("/api/v1/visitor", headers=planted | headers)
        assert answer.json()["role"] is None
        given = {"Cookie": planted["Cookie"].replace("pullcall", "__Host-pullcall")}
        answer = await phone.get("/api/v1/visitor", headers=given | headers)
        assert answer.json()["role"] == "watcher"


async def test_a_cookie_of_plain_http_is_taken_where_there_is_no_tls(served: Served) -> None:
    """Also under a name that browsers trust without TLS: a forwarded port of their own machine."""
    invited = served.access.invite(Role.WATCHER, "", None, Sight())
    token = served.access.claim_secret(invited.secret, "phone").token
    own = {"Cookie": f"pullcall={token}"}
    async with served.stranger("http") as phone:
        assert (await phone.get("/api/v1/visitor", headers=own)).json()["role"] == "watcher"
        here = own | {"Sec-Fetch-Site": "same-origin"}
        answer = await phone.get("http://localhost/api/v1/visitor", headers=here)
        assert answer.json()["role"] == "watcher"


@pytest.mark.parametrize(
    "body", [b"{", b'{"a": "\xff"}', b"[" * 9000], ids=["half", "none", "deep"]
)
async def test_who_has_no_right_is_told_so_whatever_is_wrong_with_what_they_send(
    served: Served, body: bytes
) -> None:
    headers = {"Content-Type": "application/json"}
    async with served.stranger() as stranger, served.phone(Role.WATCHER) as watcher:
        for path in BODIES:
            method = next(way for way, of in NEEDED if of == path and way != "GET")
            to = PREFIX + path.replace("{name}", "left")
            answer = await stranger.request(method, to, content=body, headers=headers)
            assert answer.status_code == 401, path
            answer = await watcher.request(method, to, content=body, headers=headers)
            assert answer.status_code == 403, path
    async with served.phone(Role.COOK) as cook:
        answer = await cook.post("/api/v1/marks", content=body, headers=headers)
        assert answer.status_code in (400, 422)
        assert detail(answer)
    async with served.stranger() as stranger:
        answer = await stranger.post("/api/v1/pairings", content=body, headers=headers)
        assert answer.status_code in (400, 422)  # open to all


async def test_guessing_closes_the_code_and_never_the_cook_out(served: Served) -> None:
    """ASVS 6.6.3: a code stands few guesses; 6.1.1: they must not be a way to lock anybody out."""
    async with served.here() as here, served.phone(Role.COOK) as cook:
        invited = (await here.post("/api/v1/invitations", json={"role": "cook"})).json()
        wrong = {"code": f"{(int(invited['code']) + 1) % 10**8:08d}"}
        answers = []
        for n in range(8):
            async with served.stranger(address=f"192.168.7.{100 + n}") as rival:
                answers.append((await rival.post("/api/v1/pairings", json=wrong)).status_code)
        assert set(answers) == {403}
        async with served.stranger(address="192.168.7.90") as late:
            right = await late.post("/api/v1/pairings", json={"code": invited["code"]})
            assert right.status_code == 403, "the code is closed"
            secret = invited["links"][0].split("#k=")[1]
            by_qr = await late.post("/api/v1/pairings", json={"secret": secret})
            assert by_qr.status_code == 201, "the QR still works"
        assert (await ask(cook, "POST", "/marks")).status_code == 201


async def test_one_address_cannot_guess_fast(served: Served) -> None:
    """ASVS 6.3.1: what is documented against guessing is done."""
    async with served.stranger() as rival:
        answers = [
            await rival.post("/api/v1/pairings", json={"code": "00000000"}) for _ in range(8)
        ]
    assert [answer.status_code for answer in answers][-1] == 429
    assert int(answers[-1].headers["retry-after"]) >= 1
    assert "wait" in detail(answers[-1])


async def test_a_crowd_of_strangers_does_not_slow_a_paired_phone(served: Served) -> None:
    async with served.stranger() as rival, served.phone(Role.COOK) as cook:
        refused = [await rival.get("/api/v1/snapshot") for _ in range(250)]
        assert refused[-1].status_code == 429
        assert (await cook.get("/api/v1/snapshot")).status_code == 200


async def test_a_revoked_phone_is_out_at_once(served: Served) -> None:
    """ASVS 7.4.1: an ended session is of no more use; 7.4.5: who rules can end anybody's."""
    async with served.here() as here, served.phone(Role.COOK) as phone:
        listed = (await here.get("/api/v1/pairings")).json()
        assert (await here.delete(f"/api/v1/pairings/{listed[0]['id']}")).status_code == 204
        assert (await phone.get("/api/v1/snapshot")).status_code == 401
        assert (await here.get("/api/v1/pairings")).json() == []


async def test_revoking_a_watchers_link_ends_all_its_phones(served: Served) -> None:
    async with served.here() as here:
        body = {"role": "watcher", "label": "family"}
        invited = (await here.post("/api/v1/invitations", json=body)).json()
        secret = invited["links"][0].split("#k=")[1]
        async with served.stranger() as one, served.stranger() as other:
            for phone in (one, other):
                await phone.post("/api/v1/pairings", json={"secret": secret})
            assert (await here.get("/api/v1/invitations")).json()[0]["phones"] == 2
            await here.delete(f"/api/v1/invitations/{invited['id']}")
            for phone in (one, other):
                assert (await phone.get("/api/v1/snapshot")).status_code == 401


async def test_any_phone_can_forget_itself(served: Served) -> None:
    """ASVS 7.4.1: signing out ends the session at the site, whoever still has its token."""
    async with served.phone(Role.WATCHER) as phone, served.phone(Role.WATCHER) as other:
        token = phone.cookies["__Host-pullcall"]
        assert (await phone.delete("/api/v1/pairings/me")).status_code == 204
        assert await status_with(served, token) == 401
        assert (await other.get("/api/v1/snapshot")).status_code == 200


async def test_phones_only_watch_over_plain_http(served: Served) -> None:
    """ASVS 12.2.1 asks for TLS throughout; where a cook turns it off, this much is kept of it."""
    async with served.phone(Role.COOK, scheme="http") as phone:
        assert (await phone.get("/api/v1/snapshot")).status_code == 200
        refused = await ask(phone, "POST", "/marks")
        assert refused.status_code == 403
        assert "plain_control" in detail(refused)
        assert "plain_control" in (await phone.get("/api/v1/visitor")).json()["note"]


async def test_a_watcher_without_targets_reads_none(served: Served) -> None:
    """ASVS 8.2.3, 15.3.1: of what may be read, only the fields that one may read."""
    async with served.phone(Role.WATCHER, Sight(hides_targets=True)) as phone:
        text = (await phone.get("/api/v1/snapshot")).text
    assert "pull_c" not in text
    assert "target_c" not in text


async def test_a_late_watcher_gets_nothing_before_its_time(served: Served) -> None:
    async with served.phone(Role.WATCHER, Sight(delay_s=60.0)) as phone:
        answer = await phone.get("/api/v1/snapshot")
    assert answer.status_code == 409
    assert "1 min late" in detail(answer)


async def test_who_answers_a_call_is_said_by_the_site_not_by_the_phone(served: Served) -> None:
    async with served.phone(Role.HAND) as phone:
        await served.site.take(lambda t: Condition(t, Fault.RECORDER, active=True))
        async with asyncio.timeout(60):
            while not (alarms := served.site.cook.live_alarms()):  # noqa: ASYNC110
                await asyncio.sleep(0)
        body = {"call": alarms[0].id, "by": "the cook herself"}
        answer = await phone.post("/api/v1/acknowledgements", json=body)
    assert (answer.status_code, answer.json()["by"]) == (201, "Phone")


async def test_an_invitation_shows_its_qr_and_never_its_secret_again(served: Served) -> None:
    """ASVS 11.5.1: a secret has 128 bits, so at least 22 letters of 6 bits."""
    async with served.here() as here:
        invited = (await here.post("/api/v1/invitations", json={"role": "cook"})).json()
        listed = (await here.get("/api/v1/invitations")).json()
    secret = invited["links"][0].split("#k=")[1]
    assert len(secret) >= 22
    assert secret not in json.dumps(listed)
    assert invited["code"] not in json.dumps(listed)
    assert len(invited["qr"]) == len(invited["qr"][0]) > 20


async def test_a_stream_opens_with_a_ticket_once(served: Served) -> None:
    """ASVS 4.4.4: who is signed in gets the websocket's token by HTTP; 6.5.1: good for one use."""
    async with served.phone(Role.WATCHER) as phone:
        ticket = (await phone.post("/api/v1/tickets")).json()["ticket"]
    first = Socket(served, tickets=(ticket,))
    accepted = await first.next("websocket.accept")
    assert accepted["subprotocol"] == "pullcall.1"
    assert "hello" in (await first.next("websocket.send"))["text"]
    again = Socket(served, tickets=(ticket,))
    await again.next("websocket.close")
    await first.close()


async def test_a_cookie_alone_opens_no_websocket(served: Served) -> None:
    """ASVS 4.4.3: a token for the socket alone is needed; a browser sends cookies by itself."""
    async with served.phone(Role.COOK) as phone:
        cookie = phone.cookies["__Host-pullcall"]
    socket = Socket(served, cookie=cookie)
    await socket.next("websocket.close")


async def test_a_foreign_page_opens_no_websocket(served: Served) -> None:
    """ASVS 4.4.2: the Origin of a websocket is checked."""
    async with served.phone(Role.COOK) as phone:
        ticket = (await phone.post("/api/v1/tickets")).json()["ticket"]
    socket = Socket(served, tickets=(ticket,), origin="https://evil.example")
    await socket.next("websocket.close")


async def test_a_foreign_page_on_this_machine_opens_no_websocket(served: Served) -> None:
    """ASVS 4.4.2: this machine needs no ticket, so the Origin is all there is."""
    origin = "https://evil.example"
    socket = Socket(served, origin=origin, host="127.0.0.1:8317", client="127.0.0.1")
    await socket.next("websocket.close")


async def test_a_websocket_under_a_foreign_name_is_refused(served: Served) -> None:
    socket = Socket(served, host="evil.example", origin="https://evil.example")
    await socket.next("websocket.close")


async def test_revoking_ends_a_running_stream_at_once(served: Served) -> None:
    """ASVS 7.4.1."""
    async with served.phone(Role.COOK) as phone:
        ticket = (await phone.post("/api/v1/tickets")).json()["ticket"]
    socket = Socket(served, tickets=(ticket,))
    await socket.next("websocket.accept")
    served.access.revoke(served.access.pairings()[0].id)
    assert (await socket.next("websocket.close"))["code"] == 4401


async def test_events_go_by_the_cookie_and_end_with_the_pairing(served: Served) -> None:
    """ASVS 7.4.1."""
    async with served.phone(Role.WATCHER) as phone:
        cookie = phone.cookies["__Host-pullcall"]
    events = Events(served, cookie)
    assert (await events.next() or {})["type"] == "hello"
    served.access.revoke(served.access.pairings()[0].id)
    async with asyncio.timeout(60):
        while await events.next() is not None:
            pass
    assert served.site.hub.count == 0


async def test_events_of_a_stranger_are_refused(served: Served) -> None:
    assert await Events(served, "no token").status() == 401


async def test_a_watchers_ping_and_nonsense_change_nothing(served: Served) -> None:
    async with served.phone(Role.WATCHER) as phone:
        ticket = (await phone.post("/api/v1/tickets")).json()["ticket"]
    socket = Socket(served, tickets=(ticket,))
    await socket.next("websocket.accept")
    socket._incoming.put_nowait(
        {"type": "websocket.receive", "text": '{"type":"mark","mark":"on"}'}
    )
    socket._incoming.put_nowait({"type": "websocket.receive", "text": '{"type":"ping","n":1}'})
    while "pong" not in (await socket.next("websocket.send"))["text"]:
        pass
    assert served.site.cook.steaks["left"].phase == "waiting"
    await socket.close()


async def test_the_pages_own_files_are_not_counted(served: Served) -> None:
    """A phone asks for some sixty of them, and several phones may share an address."""
    async with served.stranger() as phone:
        answers = {(await phone.get("/page/style.css")).status_code for _ in range(300)}
    assert answers == {200}


async def test_a_crowd_of_guessers_does_not_keep_the_cooks_phone_out(served: Served) -> None:
    """ASVS 6.3.1 has guessing slowed down as documented; 6.1.1: without locking anybody out."""
    invited = served.access.invite(Role.COOK, "", None, Sight())
    for n in range(60):
        async with served.stranger(address=f"192.168.8.{n}") as rival:
            await rival.post("/api/v1/pairings", json={"code": "00000000"})
    async with served.stranger() as phone:
        answer = await phone.post("/api/v1/pairings", json={"secret": invited.secret})
    assert answer.status_code == 201


async def test_a_phone_that_is_paired_again_ends_its_pairing_before(served: Served) -> None:
    """ASVS 7.2.4: who signs in anew gets a new token, and the old one ends."""
    async with served.phone(Role.HAND) as phone:
        old = phone.cookies["__Host-pullcall"]
        invited = served.access.invite(Role.COOK, "", None, Sight())
        await phone.post("/api/v1/pairings", json={"secret": invited.secret})
        assert [one.role for one in served.access.pairings()] == ["cook"]
    assert await status_with(served, old) == 401


async def test_a_cook_is_told_when_pairings_cannot_be_kept(site: Site, tmp_path: Path) -> None:
    folder = tmp_path / "not a folder"
    folder.write_text("")
    access = Access(RealClock(), folder / "paired.json")
    served = Served(create_app(site, access), site, access)
    access.invite(Role.COOK, "", None, Sight())
    async with served.here() as here:
        assert "pair" in (await here.get("/api/v1/visitor")).json()["note"].lower()


async def test_nothing_but_the_token_itself_is_taken_for_one(served: Served) -> None:
    """ASVS 7.2.1: the site checks tokens; 7.2.2: there is no key beside those of the pairings."""
    invited = served.access.invite(Role.WATCHER, "", None, Sight())
    claimed = served.access.claim_secret(invited.secret, "Phone")
    ticket = served.access.ticket(claimed.pairing.id)
    assert await status_with(served, claimed.token) == 200
    pairing = claimed.pairing
    for other in (invited.secret, ticket, pairing.id, pairing.digest, claimed.token.swapcase()):
        assert await status_with(served, other) == 401, other


async def test_no_secret_is_in_an_address_that_a_browser_sends(served: Served) -> None:
    """ASVS 14.2.1: a link's secret is behind its "#"; in a query, none of them opens anything."""
    async with served.here() as here:
        made = (await here.post("/api/v1/invitations", json={"role": "watcher"})).json()
    assert made["links"]
    for link in made["links"]:
        address, secret = urldefrag(link)
        assert urlsplit(address).query == "" and urlsplit(address).path == "/"
        assert secret.removeprefix("k=") not in address
    async with served.phone(Role.COOK) as phone, served.stranger() as other:
        token = phone.cookies["__Host-pullcall"]
        ticket = (await phone.post("/api/v1/tickets")).json()["ticket"]
        for query in ({"pullcall": token}, {"token": token}, {"ticket": ticket}):
            assert (await other.get("/api/v1/snapshot", params=query)).status_code == 401


@pytest.mark.parametrize("role", [Role.WATCHER, Role.HAND])
async def test_nobody_but_a_cook_ends_the_pairing_of_another(served: Served, role: Role) -> None:
    """ASVS 8.2.2: to know the name of a thing is no right to it."""
    async with served.phone(Role.COOK) as cook, served.phone(role) as phone:
        listed = (await cook.get("/api/v1/pairings")).json()
        for one in listed:
            for path in (f"pairings/{one['id']}", f"invitations/{one['invitation']}"):
                assert (await phone.delete(f"/api/v1/{path}")).status_code == 403
        after = (await cook.get("/api/v1/pairings")).json()
    assert [one["id"] for one in after] == [one["id"] for one in listed]
    assert len(listed) == 2


async def test_a_ticket_opens_nothing_once_its_phone_is_out(served: Served) -> None:
    """ASVS 4.4.3: what holds for a session's token holds for the socket's; 7.4.1: it ends too."""
    async with served.phone(Role.COOK) as phone:
        ticket = (await phone.post("/api/v1/tickets")).json()["ticket"]
        assert (await phone.delete("/api/v1/pairings/me")).status_code == 204
    await Socket(served, tickets=(ticket,)).next("websocket.close")


async def test_one_phone_takes_no_more_than_its_own_places(served: Served) -> None:
    async with served.phone(Role.WATCHER) as phone:
        opened = []
        for _ in range(5):
            ticket = (await phone.post("/api/v1/tickets")).json()["ticket"]
            opened.append(Socket(served, tickets=(ticket,)))
            if len(opened) < 5:
                await opened[-1].next("websocket.accept")
        await opened[-1].next("websocket.close")
        answer = await phone.get("/api/v1/events")
        assert answer.status_code == 503
        assert "close other tabs" in detail(answer)
        for socket in opened[:-1]:
            await socket.close()


async def test_streams_that_are_asked_for_together_take_no_more_places(served: Served) -> None:
    """Each place is taken before the next is asked for, not only when its stream begins."""
    async with served.phone(Role.COOK) as phone:
        cookie = phone.cookies["__Host-pullcall"]
        asked = [Events(served, cookie) for _ in range(24)]
        codes = [await one.status() for one in asked]
        assert codes.count(200) == PLACES.of_a_phone
        for one in asked:
            await one.close()
        (pairing,) = served.access.pairings()
        assert not served.access.is_here(pairing.id)


async def test_a_stream_whose_phone_is_gone_before_it_begins_keeps_no_place(
    served: Served,
) -> None:
    async with served.phone(Role.COOK) as phone:
        cookie = phone.cookies["__Host-pullcall"]
        (pairing,) = served.access.pairings()
        for _ in range(2 * PLACES.of_a_phone):
            gone = Events(served, cookie, is_gone=True)
            await gone.ended()
        assert not served.access.is_here(pairing.id)


async def test_a_phone_that_comes_back_ever_so_often_is_told_to_wait(served: Served) -> None:
    """Its other requests, and other phones, are none the worse for it."""
    async with served.phone(Role.COOK) as restless, served.phone(Role.COOK) as other:
        codes = [(await restless.post("/api/v1/tickets")).status_code for _ in range(40)]
        assert codes.count(201) == pytest.approx(OF_STREAMS.burst, abs=2)
        assert codes[-1] == 429
        assert (await restless.get("/api/v1/events")).status_code == 429
        assert (await restless.get("/api/v1/snapshot")).status_code == 200
        assert (await other.post("/api/v1/tickets")).status_code == 201


async def test_a_phone_that_asks_for_everything_ever_so_often_is_told_to_wait(
    served: Served,
) -> None:
    async with served.phone(Role.WATCHER) as greedy, served.phone(Role.WATCHER) as other:
        codes = [(await greedy.get("/api/v1/snapshot")).status_code for _ in range(80)]
        assert codes.index(429) >= OF_SNAPSHOTS.burst
        assert (await greedy.post("/api/v1/tickets")).status_code == 201
        assert (await other.get("/api/v1/snapshot")).status_code == 200


async def test_an_absurd_place_to_resume_from_is_as_good_as_none(served: Served) -> None:
    async with served.phone(Role.WATCHER) as phone:
        events = Events(
            served, phone.cookies["__Host-pullcall"], query=f"epoch=e&since={'9' * 5000}"
        )
    assert (await events.next() or {})["resumed"] is False
    await events.close()


async def test_a_site_of_this_machine_only_invites_nobody(site: Site) -> None:
    access = Access(RealClock(), None)
    served = Served(create_app(site, access), site, access)
    async with served.here() as here:
        answer = await here.post("/api/v1/invitations", json={"role": "cook"})
    assert answer.status_code == 409
    assert "--host 0.0.0.0" in detail(answer)
    assert access.invitations() == ()


async def test_a_cook_who_opens_the_familys_link_stays_a_cook(served: Served) -> None:
    invited = served.access.invite(Role.WATCHER, "family", None, Sight())
    async with served.phone(Role.COOK) as phone:
        answer = await phone.post("/api/v1/pairings", json={"secret": invited.secret})
        assert answer.status_code == 409
        assert "forgotten first" in detail(answer)
        assert (await phone.get("/api/v1/visitor")).json()["role"] == "cook"
    assert [one.role for one in served.access.pairings()] == ["cook"]
