"""The guards turn away what no page of this site sends.

Requirements are those of OWASP ASVS, checked against its 5.0.0 text.
"""

from __future__ import annotations

import asyncio
from typing import Any

import httpx
import pytest
from starlette.types import Message

from pullcall.access.role import Role
from pullcall.api.guard.bodies import MOST_BYTES, Bodies
from pullcall.api.guard.rights import NEEDED, PREFIX
from tests.api.site_client import ADDRESS, NAME, Served, detail

MARK = {"mark": "on", "steak": "left"}
#: Paths that nothing is read from.
CHANGING = sorted(
    {path for _, path in NEEDED} - {path for how, path in NEEDED if how in ("GET", "WEBSOCKET")}
)


@pytest.mark.parametrize("host", ["evil.example", "grill.local.evil.example", "192.168.7.21", ""])
async def test_a_request_for_another_host_is_refused(served: Served, host: str) -> None:
    """A name elsewhere that leads here (DNS rebinding) shows another Host."""
    async with served.phone(Role.COOK) as phone:
        answer = await phone.get("/api/v1/snapshot", headers={"Host": host})
    assert answer.status_code == 421
    assert "[page] names" in detail(answer)


@pytest.mark.parametrize(
    "host",
    [f"{NAME}:1; script-src *", f"{NAME}:8317 *", f"{NAME}:", f"x@{NAME}", f"[{NAME}", f"{NAME}/"],
)
async def test_what_is_no_host_is_written_into_no_policy(served: Served, host: str) -> None:
    """A rival writes a policy of its own into the host that answers repeat."""
    async with served.stranger() as stranger:
        answer = await stranger.get("/", headers={"Host": host})
    assert answer.status_code == 421
    assert "script-src" not in answer.headers["content-security-policy"]
    assert " *" not in answer.headers["content-security-policy"]


@pytest.mark.parametrize("host", [NAME, f"{NAME}:8317", NAME.upper()])
async def test_the_sites_own_names_pass(served: Served, host: str) -> None:
    async with served.phone(Role.COOK) as phone:
        assert (await phone.get("/api/v1/snapshot", headers={"Host": host})).status_code == 200


@pytest.mark.parametrize(
    ("host", "server", "status"),
    [
        (ADDRESS, ADDRESS, 401),
        (f"{ADDRESS}:8317", f"::ffff:{ADDRESS}", 401),
        ("[fd00::7]:8317", "fd00::7", 401),
        (ADDRESS, "10.0.0.4", 421),
        ("127.0.0.1", ADDRESS, 421),
    ],
)
async def test_the_address_it_came_in_by_passes_and_no_other(
    served: Served, host: str, server: str, status: int
) -> None:
    """The list of hosts follows the interfaces: 401 is the next guard's answer."""
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "GET",
        "scheme": "https",
        "path": "/api/v1/snapshot",
        "raw_path": b"/api/v1/snapshot",
        "query_string": b"",
        "root_path": "",
        "headers": [(b"host", host.encode())],
        "client": ("192.168.7.66", 50000),
        "server": (server, 8317),
        "state": {},
    }
    sent: list[Message] = []

    async def receive() -> Message:
        return {"type": "http.request", "body": b""}

    async def send(message: Message) -> None:
        sent.append(message)

    await served.app(scope, receive, send)
    assert sent[0]["status"] == status


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://evil.example"},
        {"Origin": f"http://{NAME}"},
        {"Origin": f"https://{NAME}:8443"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
    ids=str,
)
async def test_another_page_cannot_act_with_the_cooks_cookie(
    served: Served, headers: dict[str, str]
) -> None:
    """ASVS 3.5.1: what changes something must come from the site's own page."""
    async with served.phone(Role.COOK) as phone:
        answer = await phone.post("/api/v1/marks", json=MARK, headers=headers)
    assert answer.status_code == 403
    assert "own page" in detail(answer)
    assert served.site.cook.steaks["left"].phase == "waiting"


async def test_the_sites_own_page_acts(served: Served) -> None:
    async with served.phone(Role.COOK) as phone:
        headers = {"Origin": f"https://{NAME}", "Sec-Fetch-Site": "same-origin"}
        answer = await phone.post("/api/v1/marks", json=MARK, headers=headers)
    assert answer.status_code == 201


async def test_another_page_cannot_act_on_this_machine(served: Served) -> None:
    """ASVS 3.5.1: this machine needs no cookie, so its browser must not act for other pages."""
    async with served.here() as here:
        headers = {"Origin": "https://evil.example"}
        assert (await here.post("/api/v1/marks", json=MARK, headers=headers)).status_code == 403


async def test_a_form_of_another_page_is_no_request(served: Served) -> None:
    """ASVS 3.5.2: only JSON is read, which another page cannot send without asking first."""
    async with served.here() as here:
        answer = await here.post(
            "/api/v1/marks",
            content='{"mark": "on", "steak": "left"}',
            headers={"Content-Type": "text/plain"},
        )
    assert answer.status_code == 422


@pytest.mark.parametrize("where", ["cross-site", "same-site"])
async def test_another_page_cannot_make_this_machine_work(served: Served, where: str) -> None:
    """ASVS 3.5.8: an image elsewhere with the address of a backup, opened on this machine."""
    headers = {"Sec-Fetch-Site": where, "Sec-Fetch-Dest": "image", "Sec-Fetch-Mode": "no-cors"}
    async with served.here() as here:
        for path in sorted({path for how, path in NEEDED if how == "GET"} | {"/visitor"}):
            assert (await here.get(f"{PREFIX}{path}", headers=headers)).status_code == 403, path
        assert (await here.get("/metrics", headers=headers)).status_code == 403


async def test_any_page_may_lead_to_this_one(served: Served) -> None:
    headers = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}
    async with served.stranger() as stranger:
        for path in ("/", "/logbook"):
            assert (await stranger.get(path, headers=headers)).status_code == 200


async def test_no_other_site_is_allowed_to_read(served: Served) -> None:
    """ASVS 3.4.2: an Origin that is not trusted is not allowed; here none is."""
    async with served.here() as here:
        answer = await here.get("/api/v1/snapshot", headers={"Origin": "https://evil.example"})
    assert "access-control-allow-origin" not in answer.headers


@pytest.mark.parametrize("path", ["/", "/api/v1/snapshot", "/page/style.css", "/nothing"])
async def test_every_answer_says_what_the_browser_may_do(served: Served, path: str) -> None:
    """ASVS 3.4.3 to 3.4.6 and 3.4.8: policy, no sniffing, no referrer, no framing, no opener.

    3.5.8: nor does another page load it.
    """
    async with served.here() as here:
        headers = (await here.get(path)).headers
    policy = headers["content-security-policy"]
    assert "default-src 'self'" in policy
    for what in ("object-src", "base-uri", "frame-ancestors"):
        assert f"{what} 'none'" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cross-origin-opener-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"


@pytest.mark.parametrize(
    ("path", "type"),
    [
        ("/", "text/html; charset=utf-8"),
        ("/page/main.js", "text/javascript; charset=utf-8"),
        ("/page/style.css", "text/css; charset=utf-8"),
        ("/manifest.webmanifest", "application/manifest+json"),
        ("/api/v1/snapshot", "application/json"),
        ("/nothing", "application/problem+json"),
    ],
)
async def test_every_answer_says_what_it_is(served: Served, path: str, type: str) -> None:
    """ASVS 4.1.1: the type, and of text its letters; JSON is always UTF-8 (RFC 8259, 8.1)."""
    async with served.here() as here:
        assert (await here.get(path)).headers["content-type"] == type


async def test_what_the_api_answers_is_not_kept(served: Served) -> None:
    """ASVS 14.3.2: browsers keep no copy of what is the cook's."""
    async with served.here() as here:
        assert (await here.get("/api/v1/snapshot")).headers["cache-control"] == "no-store"


async def test_a_body_too_large_is_refused(served: Served) -> None:
    """ASVS 5.2.1 says it of files: no more is taken in than can be dealt with."""
    async with served.here() as here:
        content = b'{"mark": "' + b"x" * MOST_BYTES + b'"}'
        answer = await here.post("/api/v1/marks", content=content)
    assert answer.status_code == 413
    assert "16 KiB" in detail(answer)


async def test_a_body_too_large_is_refused_though_it_says_no_length(served: Served) -> None:
    async def pieces() -> Any:
        for _ in range(20):
            yield b"x" * 1024

    async with served.here() as here:
        assert (await here.post("/api/v1/marks", content=pieces())).status_code == 413


async def test_a_body_that_does_not_come_is_not_waited_for_long() -> None:
    sent: list[Message] = []

    async def app(*_: Any) -> None:
        raise AssertionError("the route was asked")

    async def receive() -> Message:
        await asyncio.Event().wait()
        raise AssertionError

    async def send(message: Message) -> None:
        sent.append(message)

    scope = {"type": "http", "method": "POST", "headers": [], "path": "/api/v1/marks"}
    await Bodies(app, patience_s=0.01)(scope, receive, send)
    assert sent[0]["status"] == 408


async def test_methods_that_no_route_has_are_refused(served: Served) -> None:
    """ASVS 13.4.4: no TRACE; 4.1.4: nor what else is not used."""
    async with served.here() as here:
        answers = [await here.request(method, "/api/v1/marks") for method in ("PUT", "TRACE")]
    assert [answer.status_code for answer in answers] == [405, 405]


@pytest.mark.parametrize("method", ["GET", "HEAD", "OPTIONS"])
@pytest.mark.parametrize("path", CHANGING)
async def test_nothing_is_changed_by_a_mere_look(served: Served, method: str, path: str) -> None:
    """ASVS 3.5.3: what changes something needs a method that links and images do not use."""
    async with served.here() as here:
        filled = path.replace("{id}", "x1").replace("{name}", "left")
        answer = await here.request(method, PREFIX + filled, params={**MARK, "role": "cook"})
    assert answer.status_code == 405
    assert served.site.cook.steaks["left"].phase == "waiting"
    assert served.access.invitations() == ()


async def test_no_path_leads_out_of_the_page(served: Served) -> None:
    """ASVS 5.3.2: names of files that people send lead nowhere else; 13.4.1: nor to .git."""
    async with served.here() as here:
        for path in (
            "/page/../app.py",
            "/page/%2e%2e/app.py",
            "/page/..%2fapp.py",
            "/page//etc/passwd",
            "/page/../../../../.git/config",
            "/page/%2e%2e/%2e%2e/%2e%2e/%2e%2e/.git/config",
        ):
            answer = await here.send(httpx.Request("GET", f"http://127.0.0.1{path}"))
            assert answer.status_code == 404, path


async def test_an_error_inside_is_a_problem_with_every_header(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    """ASVS 3.4.3 and 16.5.1: also an answer to what nobody foresaw tells no insides."""

    def broken() -> None:
        raise RuntimeError("a secret inside")

    monkeypatch.setattr(served.site, "probes", broken)
    async with served.here() as here:
        answer = await here.get("/api/v1/probes")
    assert answer.status_code == 500
    assert "the cook goes on" in detail(answer)
    assert "secret" not in answer.text
    assert "default-src 'self'" in answer.headers["content-security-policy"]
    assert answer.headers["cache-control"] == "no-store"
