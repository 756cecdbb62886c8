"""Each route of a board, asked by a stranger, a watcher, a watcher of one site, and this machine.

Requirements are those of OWASP ASVS, checked against its 5.0.0 text.
"""

from __future__ import annotations

import re
from collections.abc import AsyncIterator

import httpx
import pytest

from pullcall.access.records import Sight
from pullcall.api.board.passes import Pass, Passes, Purpose
from pullcall.api.guard.rights import NEEDED, ON_BOARD, OPEN, PREFIX
from tests.api.board.board_client import SECRET, ServedBoard, served_board
from tests.api.site_client import NAME, detail

OF_SITE = "/sites/north/api/v1"
#: What is read, with the address that it is read at.
READ = ["/api/v1/sites", "/api/v1/sites/north", "/api/v1/snapshot", f"{OF_SITE}/snapshot"]
#: What a site has and a board has not.
_SHOWN = {
    ("GET", "/snapshot"),
    ("GET", "/events"),
    ("POST", "/tickets"),
    ("DELETE", "/pairings/me"),
}
REFUSED = sorted(key for key in NEEDED if key[0] != "WEBSOCKET" and key not in _SHOWN)


def names(answer: httpx.Response) -> list[str]:
    return [row["site"] for row in answer.json()["rows"]]


def test_every_route_of_a_board_has_its_right_in_the_table(board: ServedBoard) -> None:
    """ASVS 8.1.1: the rules of who may do what are written down."""
    described = board.app.openapi()["paths"]
    routes = {
        (method.upper(), path.removeprefix(PREFIX))
        for path, of in described.items()
        for method in of
    }
    assert routes <= OPEN | set(ON_BOARD) | set(NEEDED)
    assert set(ON_BOARD) <= routes


@pytest.mark.parametrize("path", [*READ, "/api/v1/events", f"{OF_SITE}/events"])
async def test_a_stranger_reads_nothing(board: ServedBoard, path: str) -> None:
    """ASVS 8.2.1."""
    async with board.stranger() as stranger:
        answer = await stranger.get(path)
    assert answer.status_code == 401
    assert "pullcall board link" in detail(answer)


@pytest.mark.parametrize("path", READ)
async def test_a_watcher_and_this_machine_read(board: ServedBoard, path: str) -> None:
    async with board.watcher() as watcher, board.here() as here:
        for client in (watcher, here):
            answer = await client.get(path)
            assert answer.status_code == 200, answer.text
            assert answer.headers["cache-control"] == "no-store"


async def test_the_rows_are_those_of_every_site_with_the_way_to_the_broker(
    board: ServedBoard,
) -> None:
    async with board.watcher() as watcher:
        answer = await watcher.get("/api/v1/sites")
        row = (await watcher.get("/api/v1/sites/north")).json()
    assert answer.json()["type"] == "board"
    assert names(answer) == ["north", "south"]
    assert answer.json()["broker"]["state"] == "connecting"
    assert row["name"] == "North grill"
    assert row["alarm"]["call"] == "pull_now"
    assert row["steaks"][0]["pull_t"]["p50"] == pytest.approx(40.5, abs=0.5)


NOTE = "The broker broker.example:8883 cannot be reached: check [mqtt]."
PLAIN_NOTE = "The board does not reach its broker: it is tried again."


@pytest.mark.parametrize("path", ["/api/v1/sites", "/api/v1/snapshot"])
async def test_where_the_broker_is_and_what_to_mend_is_told_to_this_machine_alone(
    board: ServedBoard, path: str
) -> None:
    board.cut_off(NOTE)
    async with board.watcher() as watcher, board.here() as here:
        own, told = (await here.get(path)).json(), (await watcher.get(path)).json()
        only = [await one.get(path) async for one in some_watchers(board)]
    assert own["broker"] == {"state": "lost", "note": NOTE}
    assert told["broker"] == {"state": "lost", "note": PLAIN_NOTE}
    assert [one.json()["broker"] for one in only] == [told["broker"]] * 2
    assert told["rows"] == own["rows"]


async def some_watchers(board: ServedBoard) -> AsyncIterator[httpx.AsyncClient]:
    """One of one site, and one without targets."""
    async with board.watcher(site="north") as one:
        yield one
    async with board.watcher(Sight(hides_targets=True)) as other:
        yield other


async def test_a_sites_snapshot_is_the_sites_own(board: ServedBoard) -> None:
    async with board.watcher() as watcher:
        snapshot = (await watcher.get(f"{OF_SITE}/snapshot")).json()
    assert snapshot["type"] == "snapshot"
    assert snapshot["steaks"][0]["reading"]["celsius"] == 48.9
    assert snapshot["cook"]["id"] == "20260613-1340"


@pytest.mark.parametrize("base", ["/api/v1", OF_SITE])
async def test_whatever_else_a_site_has_is_refused_to_everybody(
    board: ServedBoard, base: str
) -> None:
    """ASVS 8.2.1, 8.3.1: a board only shows, to this machine too, whatever a page would offer."""
    async with board.watcher() as watcher, board.here() as here, board.stranger() as stranger:
        for method, path in REFUSED:
            filled = base + path.replace("{id}", "x1").replace("{name}", "left")
            for client in (watcher, here):
                answer = await client.request(method, filled, json={"mark": "on"})
                assert answer.status_code == 403, (method, path)
                assert "only shows" in detail(answer)
            answer = await stranger.request(method, filled, json={"mark": "on"})
            assert answer.status_code == 401, (method, path)


async def test_a_site_has_no_logbook_on_a_board(board: ServedBoard) -> None:
    async with board.here() as here:
        assert "only shows" in detail(await here.get("/sites/north/logbook"))


@pytest.mark.parametrize("base", ["/api/v1", OF_SITE])
async def test_everybody_is_told_who_they_are(board: ServedBoard, base: str) -> None:
    async with board.watcher(Sight(120.0, hides_targets=True)) as watcher, board.here() as here:
        seen = (await watcher.get(f"{base}/visitor")).json()
        own = (await here.get(f"{base}/visitor")).json()
        async with board.stranger() as stranger:
            nobody = (await stranger.get(f"{base}/visitor")).json()
    site = {"id": "north", "name": "North grill"} if base == OF_SITE else None
    assert (seen["role"], seen["rights"], seen["board"]) == ("watcher", ["read"], True)
    assert (seen["delay_s"], seen["hides_targets"], seen["site"]) == (120.0, True, site)
    assert (own["here"], own["rights"], own["site"]) == (True, ["read"], site)
    assert (nobody["role"], nobody["rights"], nobody["site"]) == (None, [], None)


# One site only


async def test_a_watcher_of_one_site_sees_that_row_only(board: ServedBoard) -> None:
    """ASVS 8.2.2: of what there is, only what one was let in for."""
    async with board.watcher(site="south") as watcher:
        assert names(await watcher.get("/api/v1/sites")) == ["south"]
        assert names(await watcher.get("/api/v1/snapshot")) == ["south"]
        assert (await watcher.get("/api/v1/sites/south")).status_code == 200
        assert (await watcher.get("/api/v1/sites/north")).status_code == 404
        visitor = (await watcher.get("/api/v1/visitor")).json()
        assert visitor["site"] == {"id": "south", "name": "South grill"}


@pytest.mark.parametrize("site", ["north", "no-such-site"])
async def test_a_watcher_of_one_site_is_refused_others_whether_there_or_not(
    board: ServedBoard, site: str
) -> None:
    """ASVS 8.2.2."""
    async with board.watcher(site="south") as watcher:
        for what in ("snapshot", "events"):
            answer = await watcher.get(f"/sites/{site}/api/v1/{what}")
            assert answer.status_code == 403
            assert "/sites/south/" in detail(answer)
        assert (await watcher.get(f"/sites/{site}/api/v1/visitor")).json()["site"] is None
        page = await watcher.get(f"/sites/{site}/")
        assert page.status_code == 403
        assert 'href="../../"' in page.text
        assert (await watcher.get("/sites/south/api/v1/snapshot")).status_code == 200


# Links and cookies


async def test_a_link_lets_any_number_of_phones_in_and_each_is_known_by_itself(
    board: ServedBoard,
) -> None:
    link = board.admission.link(None, Sight(), None)
    async with board.stranger() as one, board.stranger(address="192.168.7.67") as other:
        for phone in (one, other):
            assert (await phone.post("/api/v1/pairings", json={"secret": link})).status_code == 201
        assert one.cookies["__Host-pullcall_board"] != other.cookies["__Host-pullcall_board"]
        assert (await other.get("/api/v1/sites")).status_code == 200


async def test_the_page_of_a_site_lets_in_by_its_own_address(board: ServedBoard) -> None:
    """A link of one site opens its page, which posts the secret there."""
    link = board.admission.link(None, Sight(), "north")
    async with board.stranger() as phone:
        body = {"secret": link, "name": "Android phone"}
        assert (await phone.post(f"{OF_SITE}/pairings", json=body)).status_code == 201
        assert (await phone.get("/api/v1/sites")).status_code == 200
        assert (await phone.get(f"{OF_SITE}/snapshot")).status_code == 200


async def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(board: ServedBoard) -> None:
    """ASVS 3.3.1 and 3.3.3: the prefix; 3.3.2: SameSite; 3.3.4: HttpOnly, and in no body."""
    link = board.admission.link(600.0, Sight(), None)
    async with board.stranger() as phone:
        answer = await phone.post("/api/v1/pairings", json={"secret": link})
    cookie = answer.headers["set-cookie"].lower()
    for word in ("secure", "httponly", "samesite=strict", "max-age=600", "path=/;"):
        assert word in cookie
    assert answer.cookies["__Host-pullcall_board"] not in answer.text


async def test_a_site_on_the_same_machine_keeps_its_own_cookie(board: ServedBoard) -> None:
    """Browsers send a cookie to every port."""
    async with board.watcher() as watcher:
        assert set(watcher.cookies) == {"__Host-pullcall_board"}


@pytest.mark.parametrize("purpose", list(Purpose))
async def test_only_a_link_lets_in_and_only_a_cookie_keeps_in(
    board: ServedBoard, purpose: Purpose
) -> None:
    """ASVS 9.2.2."""
    ends = int(board.clock.wall().timestamp()) + 600
    text = Passes(SECRET).signed(purpose, Pass(ends))
    async with board.stranger() as phone:
        claimed = await phone.post("/api/v1/pairings", json={"secret": text})
        assert claimed.status_code == (201 if purpose is Purpose.LINK else 403)
    async with board.stranger() as phone:
        headers = {"Cookie": f"__Host-pullcall_board={text}"}
        read = await phone.get("/api/v1/sites", headers=headers)
        assert read.status_code == (200 if purpose is Purpose.COOKIE else 401)


async def test_a_forged_link_is_refused_with_what_to_do(board: ServedBoard) -> None:
    """ASVS 9.1.1."""
    forged = Passes(bytes(32)).signed(Purpose.LINK, Pass(10**11))
    async with board.stranger() as phone:
        answer = await phone.post("/api/v1/pairings", json={"secret": forged})
        assert answer.status_code == 403
        assert "ask whoever runs the board" in detail(answer)
        too_long = await phone.post("/api/v1/pairings", json={"secret": "x" * 5000})
        assert too_long.status_code == 422


async def test_who_came_by_a_link_is_out_when_it_ends(board: ServedBoard) -> None:
    """ASVS 7.3.2: a session has a longest life; 9.2.1."""
    link = board.admission.link(600.0, Sight(), None)
    async with board.stranger() as phone:
        await phone.post("/api/v1/pairings", json={"secret": link})
        board.clock.advance_to(599.0)
        assert (await phone.get("/api/v1/visitor")).json()["role"] == "watcher"
        board.clock.advance_to(600.0)
        headers = {"Cookie": f"__Host-pullcall_board={phone.cookies['__Host-pullcall_board']}"}
        assert (await phone.get("/api/v1/sites", headers=headers)).status_code == 401
        again = await phone.post("/api/v1/pairings", json={"secret": link})
        assert again.status_code == 403


async def test_a_phone_can_forget_its_pass(board: ServedBoard) -> None:
    async with board.watcher() as watcher:
        assert (await watcher.delete("/api/v1/pairings/me")).status_code == 204
        assert (await watcher.get("/api/v1/sites")).status_code == 401


async def test_boards_with_one_secret_honour_each_others_passes(board: ServedBoard) -> None:
    """Whichever a load balancer asks; ASVS 9.1.3: and no board with another."""
    twin, foreign = served_board(), served_board(bytes(32))
    async with board.watcher(site="north") as watcher:
        cookie = {"Cookie": f"__Host-pullcall_board={watcher.cookies['__Host-pullcall_board']}"}
        async with twin.stranger() as there:
            assert names(await there.get("/api/v1/sites", headers=cookie)) == ["north"]
        async with foreign.stranger() as elsewhere:
            assert (await elsewhere.get("/api/v1/sites", headers=cookie)).status_code == 401


# The guards


@pytest.mark.parametrize("path", ["/api/v1/pairings", f"{OF_SITE}/pairings"])
async def test_one_address_cannot_try_links_fast(board: ServedBoard, path: str) -> None:
    """ASVS 6.3.1."""
    async with board.stranger() as rival:
        statuses = [
            (await rival.post(path, json={"secret": "guess"})).status_code for _ in range(6)
        ]
    assert statuses == [403] * 5 + [429]


@pytest.mark.parametrize("path", ["/api/v1/sites", f"{OF_SITE}/snapshot"])
async def test_a_crowd_of_strangers_does_not_slow_a_watcher(board: ServedBoard, path: str) -> None:
    async with board.watcher() as watcher, board.stranger() as rival:
        asked = [await rival.get(path) for _ in range(201)]
        assert asked[-1].status_code == 429
        assert (await watcher.get(path)).status_code == 200


@pytest.mark.parametrize("header", ["X-Forwarded-For", "X-Forwarded-Proto", "Forwarded", "Via"])
@pytest.mark.parametrize("path", READ)
async def test_a_request_that_was_forwarded_is_never_this_machine(
    board: ServedBoard, header: str, path: str
) -> None:
    """ASVS 8.2.1: a load balancer on this machine lets no stranger in."""
    async with board.here() as here:
        assert (await here.get(path, headers={header: "203.0.113.9"})).status_code == 401


async def test_a_balancer_that_keeps_the_boards_name_lets_no_stranger_in(
    board: ServedBoard,
) -> None:
    """It asks from this machine's address, by the name that the watcher asked for."""
    async with board.stranger("http", "127.0.0.1") as forwarded:
        assert (await forwarded.get("/api/v1/sites")).status_code == 401


async def test_a_page_over_a_balancer_that_ends_tls_may_come_in(board: ServedBoard) -> None:
    """Its origin tells that it was encrypted, and its cookie is for TLS only (ASVS 3.3.1)."""
    link = board.admission.link(None, Sight(), None)
    async with board.stranger("http", "192.168.7.5") as balancer:
        headers = {"Origin": f"https://{NAME}", "X-Forwarded-For": "203.0.113.9"}
        answer = await balancer.post("/api/v1/pairings", json={"secret": link}, headers=headers)
        assert answer.status_code == 201
        assert "secure" in answer.headers["set-cookie"].lower()
        other = {"Origin": "https://evil.example"}
        refused = await balancer.post("/api/v1/pairings", json={"secret": link}, headers=other)
        assert refused.status_code == 403


async def test_another_name_is_refused_with_where_to_write_it(board: ServedBoard) -> None:
    async with board.watcher() as watcher:
        answer = await watcher.get("/api/v1/sites", headers={"Host": "board.example.org"})
    assert answer.status_code == 421
    assert "[board] names" in detail(answer)


# Pages


def asked_for(text: str) -> list[str]:
    found: list[str] = re.findall(r'(?:href|src)="([^"#]+)"', text)
    return found


async def test_the_boards_page_asks_for_files_of_one_version(board: ServedBoard) -> None:
    async with board.stranger() as stranger:
        page = await stranger.get("/")
        assert "default-src 'self'" in page.headers["content-security-policy"]
        files = asked_for(page.text)
        assert len(files) >= 4
        for file in files:
            assert (await stranger.get(file)).status_code == 200, file


async def test_many_sites_are_no_more_to_keep_than_one(board: ServedBoard) -> None:
    """Every page of a site asks for the very files of the board."""
    async with board.watcher() as watcher:
        pages = [(await watcher.get(f"/sites/{site}/")) for site in ("north", "south")]
        assert pages[0].text == pages[1].text
        files = [
            httpx.URL(f"https://{NAME}/sites/north/").join(f) for f in asked_for(pages[0].text)
        ]
        assert len(files) >= 5
        for file in files:
            assert file.path.startswith(("/page/v-", "/manifest.webmanifest")), file
            assert (await watcher.get(file)).status_code == 200, file


async def test_a_page_without_the_stroke_at_its_end_leads_to_it(board: ServedBoard) -> None:
    async with board.watcher() as watcher:
        answer = await watcher.get("/sites/north")
    assert answer.status_code == 307
    assert str(httpx.URL(f"https://{NAME}/sites/north").join(answer.headers["location"])).endswith(
        "/sites/north/"
    )


@pytest.mark.parametrize("name", ["http:evil.example", "%5C%5Cevil.example", "NORTH", "%0d%0ax"])
async def test_no_page_leads_away_from_the_board(board: ServedBoard, name: str) -> None:
    """A rival sends a link to the board that would go on to a page of its own (ASVS 3.7.2)."""
    async with board.stranger() as stranger:
        answer = await stranger.get(f"/sites/{name}")
    assert answer.status_code == 404
    assert "location" not in answer.headers


async def test_an_unknown_site_is_said_with_the_way_back(board: ServedBoard) -> None:
    async with board.watcher() as watcher:
        page = await watcher.get("/sites/west/")
        answer = await watcher.get("/sites/west/api/v1/snapshot")
    assert page.status_code == 404
    assert 'href="../../"' in page.text
    assert answer.status_code == 404
    assert "go back" in detail(answer)


async def test_a_stranger_is_not_told_which_sites_there_are(board: ServedBoard) -> None:
    """ASVS 8.2.2: every site's page is the same to who has no link."""
    async with board.stranger() as stranger:
        pages = [await stranger.get(f"/sites/{site}/") for site in ("north", "west")]
        told = [await stranger.get(f"/sites/{site}/api/v1/snapshot") for site in ("north", "west")]
    assert [page.status_code for page in pages] == [200, 200]
    assert pages[0].text == pages[1].text
    assert [(one.status_code, one.text) for one in told] == [(401, told[0].text)] * 2


@pytest.mark.parametrize(
    "path", ["/sites/..%2f..%2fetc/", "/sites/%2e%2e/api/v1/snapshot", "/sites/north%00/"]
)
async def test_no_site_is_named_by_what_is_no_name(board: ServedBoard, path: str) -> None:
    """ASVS 5.3.2."""
    async with board.here() as here:
        answer = await here.send(httpx.Request("GET", f"http://127.0.0.1{path}"))
    assert answer.status_code in (403, 404)
    assert "steaks" not in answer.text
