"""The guards turn away what no page of this site sends. ASVS 5.0 rows are named from memory."""

from __future__ import annotations

import asyncio
from typing import Any

import httpx
import pytest
from starlette.types import Message

from pullcall.access.role import Role
from pullcall.api.guard.bodies import MOST_BYTES, Bodies
from tests.api.site_client import ADDRESS, NAME, Served, detail

MARK = {"mark": "on", "steak": "left"}


@pytest.mark.parametrize("host", ["evil.example", "grill.local.evil.example", "192.168.7.21", ""])
async def test_a_request_for_another_host_is_refused(served: Served, host: str) -> None:
    """A name elsewhere that leads here (DNS rebinding) shows another Host."""
    async with served.phone(Role.COOK) as phone:
        answer = await phone.get("/api/v1/snapshot", headers={"Host": host})
    assert answer.status_code == 421
    assert "[page] names" in detail(answer)


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
    """ASVS 3.5.1: requests that change something come from the site's own page."""
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
    """ASVS 3.5.2: only JSON is read, which a plain form cannot send."""
    async with served.here() as here:
        answer = await here.post(
            "/api/v1/marks",
            content='{"mark": "on", "steak": "left"}',
            headers={"Content-Type": "text/plain"},
        )
    assert answer.status_code == 422


async def test_no_other_site_is_allowed_to_read(served: Served) -> None:
    """ASVS 3.4.2: no answer carries Access-Control-Allow-Origin."""
    async with served.here() as here:
        answer = await here.get("/api/v1/snapshot", headers={"Origin": "https://evil.example"})
    assert "access-control-allow-origin" not in answer.headers


@pytest.mark.parametrize("path", ["/", "/api/v1/snapshot", "/page/style.css", "/nothing"])
async def test_every_answer_says_what_the_browser_may_do(served: Served, path: str) -> None:
    """ASVS 3.4.3 to 3.4.6: content security policy, no sniffing, no referrer, no framing."""
    async with served.here() as here:
        headers = (await here.get(path)).headers
    policy = headers["content-security-policy"]
    assert "default-src 'self'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cross-origin-opener-policy"] == "same-origin"


async def test_what_the_api_answers_is_not_kept(served: Served) -> None:
    """ASVS 14.3.2: answers with data of the cook are not cached."""
    async with served.here() as here:
        assert (await here.get("/api/v1/snapshot")).headers["cache-control"] == "no-store"


async def test_a_body_too_large_is_refused(served: Served) -> None:
    """ASVS 5.2.1: the site takes no more than it can use."""
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
    async with served.here() as here:
        answers = [await here.request(method, "/api/v1/marks") for method in ("PUT", "TRACE")]
    assert [answer.status_code for answer in answers] == [405, 405]


async def test_no_path_leads_out_of_the_page(served: Served) -> None:
    """ASVS 5.3.2: names of files that people send lead nowhere else."""
    async with served.here() as here:
        for path in (
            "/page/../app.py",
            "/page/%2e%2e/app.py",
            "/page/..%2fapp.py",
            "/page//etc/passwd",
        ):
            answer = await here.send(httpx.Request("GET", f"http://127.0.0.1{path}"))
            assert answer.status_code == 404, path
