"""The API: every request does what it says, every error is a problem with a sentence to act on."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Any

import httpx
import pytest

from pullcall.access.role import Role
from pullcall.site.live import Site
from tests.api.site_client import Served
from tests.api.streams import Events, Socket


@pytest.fixture
async def client(served: Served) -> AsyncIterator[httpx.AsyncClient]:
    async with served.here() as client:
        yield client


async def post(client: httpx.AsyncClient, path: str, **body: object) -> httpx.Response:
    return await client.post(f"/api/v1/{path}", json=body)


async def test_a_mark_and_its_undo(client: httpx.AsyncClient, site: Site) -> None:
    answer = await post(client, "marks", mark="on", steak="left")
    assert answer.status_code == 201
    assert answer.json()["mark"] == "on"
    assert site.cook.steaks["left"].phase == "on"
    undone = await client.delete(f"/api/v1/marks/{answer.json()['id']}")
    assert undone.status_code == 204
    assert site.cook.steaks["left"].phase == "waiting"


async def test_a_mark_of_a_moment_ago_is_dated_back(client: httpx.AsyncClient, site: Site) -> None:
    answer = await post(client, "marks", mark="on", steak="left", ago_s=30)
    assert answer.json()["at"] == pytest.approx(answer.json()["t"] - 30.0)


async def test_a_spot_changes_the_forecast_at_once(client: httpx.AsyncClient, site: Site) -> None:
    await post(client, "marks", mark="on")
    answer = await post(client, "spots", steak="right", celsius=6.25)
    assert answer.status_code == 201
    snapshot = (await client.get("/api/v1/snapshot")).json()
    assert snapshot["spots"][0]["celsius"] == 6.25
    forecast = snapshot["steaks"][1]["forecast"]
    assert forecast["core_c"] == pytest.approx(6.25, abs=2.0)
    assert "two or three spots" in forecast["note"]


async def test_settings_of_a_steak_change_while_it_cooks(client: httpx.AsyncClient) -> None:
    answer = await client.patch("/api/v1/steaks/left", json={"pull_c": 55.0, "channel": "AA/1"})
    assert answer.status_code == 200
    assert (answer.json()["pull_c"], answer.json()["channel"]) == (55.0, "AA/1")
    cleared = await client.patch("/api/v1/steaks/left", json={"channel": None})
    assert cleared.json()["channel"] is None


async def test_where_the_steaks_rest_can_change(client: httpx.AsyncClient) -> None:
    answer = await client.patch("/api/v1/cook", json={"rest_on": "board"})
    assert (answer.status_code, answer.json()["rest_on"]) == (200, "board")
    refused = await client.patch("/api/v1/cook", json={"rest_on": "moon"})
    assert refused.status_code == 409


async def test_the_five_degree_rule_can_be_chosen(client: httpx.AsyncClient) -> None:
    answer = await client.patch("/api/v1/cook", json={"carry_over": "five_degrees"})
    assert answer.json()["carry_over"] == "five_degrees"
    await client.patch("/api/v1/steaks/left", json={"pull_c": 54.0, "target_c": 57.0})
    await post(client, "marks", mark="on", steak="left")
    await post(client, "spots", steak="left", celsius=6.0)
    forecast = (await client.get("/api/v1/snapshot")).json()["steaks"][0]["forecast"]
    assert forecast["peak_c"]["p50"] == pytest.approx(54.0 + 5.0 / 1.8, abs=0.05)
    assert forecast["aim_c"]["p50"] == pytest.approx(57.0 - 5.0 / 1.8, abs=0.05)


async def test_of_several_settings_either_all_change_or_none(client: httpx.AsyncClient) -> None:
    answer = await client.patch("/api/v1/steaks/left", json={"pull_c": 55, "thickness_mm": 5000})
    assert answer.status_code == 409
    assert (await client.get("/api/v1/snapshot")).json()["steaks"][0]["pull_c"] == 53.9


async def test_a_new_cook_is_listed_beside_the_old(client: httpx.AsyncClient) -> None:
    answer = await post(client, "cooks", steaks=[{"steak": "thick", "pull_c": 52.0}])
    assert answer.status_code == 201
    listed = (await client.get("/api/v1/cooks")).json()
    names = [[steak["steak"] for steak in row["steaks"]] for row in listed]
    assert names == [["left", "right"], ["thick"]]
    assert [row["running"] for row in listed] == [False, True]


@pytest.mark.parametrize(
    ("method", "path", "body", "status", "says"),
    [
        ("POST", "marks", {"mark": "flip", "steak": "left"}, 409, "mark it on first"),
        ("POST", "marks", {"mark": "flip", "steak": "middle"}, 404, "no steak 'middle'"),
        ("POST", "marks", {"mark": "juggle"}, 422, "mark: write 'on', 'turn'"),
        ("POST", "marks", {"mark": "on", "extra": 1}, 422, "extra"),
        ("POST", "spots", {"steak": "left", "celsius": 5000}, 409, "check the number"),
        ("POST", "spots", {"steak": "left"}, 422, "celsius"),
        ("POST", "acknowledgements", {"call": "c9"}, 404, "no such call"),
        ("PATCH", "steaks/middle", {"pull_c": 54}, 404, "no steak 'middle'"),
        ("PATCH", "steaks/left", {"pull_c": 400}, 409, "between 30 and 90"),
        ("POST", "cooks", {"steaks": [{"steak": "a"}, {"steak": "a"}]}, 422, "a name of its own"),
        ("POST", "cooks", {"steaks": [{"steak": "a\u2028b"}]}, 422, "can be seen"),
        ("DELETE", "marks/zzz", None, 404, "undone already"),
        ("GET", "nothing", None, 404, "Not Found"),
    ],
)
async def test_errors_are_problems_a_person_can_act_on(
    client: httpx.AsyncClient, method: str, path: str, body: object, status: int, says: str
) -> None:
    answer = await client.request(method, f"/api/v1/{path}", json=body)
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert says in answer.json()["detail"]
    assert answer.json()["status"] == status


async def test_the_page_comes_with_a_strict_content_policy(client: httpx.AsyncClient) -> None:
    answer = await client.get("/")
    assert answer.status_code == 200
    assert "default-src 'self'" in answer.headers["content-security-policy"]
    assert "unsafe" not in answer.headers["content-security-policy"]


async def test_the_event_stream_greets_with_a_snapshot(served: Served) -> None:
    async with served.phone(Role.WATCHER) as phone:
        events = Events(served, phone.cookies["__Host-pullcall"])
    hello, snapshot = await events.next(), await events.next()
    assert hello is not None
    assert snapshot is not None
    assert (hello["type"], hello["resumed"]) == ("hello", False)
    assert snapshot["steaks"][0]["steak"] == "left"
    await events.close()
    assert served.site.hub.count == 0


@pytest.mark.parametrize("role", [Role.COOK, Role.WATCHER])
async def test_a_burst_ends_no_stream_and_everything_is_told_anew(
    served: Served, role: Role
) -> None:
    """A machine that slept works out what it missed in one go; pages that read are none the worse
    for it."""
    async with served.phone(role) as phone:
        ticket = (await phone.post("/api/v1/tickets")).json()["ticket"]
        events = Events(served, phone.cookies["__Host-pullcall"])
        socket = Socket(served, tickets=(ticket,))
        await heard(socket, "snapshot")
        assert [(await events.next() or {})["type"] for _ in range(2)] == ["hello", "snapshot"]
        for _ in range(2000):
            served.site.hub.publish("banner", {"banner": None})
        seq = served.site.hub.seq
        assert (await heard(socket, "snapshot"))["seq"] >= seq
        while (message := await events.next() or {})["type"] != "hello":
            assert message.get("seq", 0) <= seq - 2000
        assert message["resumed"] is False
        assert (await events.next() or {})["seq"] >= seq
        await socket.close()
        await events.close()


async def heard(socket: Socket, type: str) -> dict[str, Any]:
    """The next message of a type."""
    while True:
        sent = await socket.next("websocket.send")
        message: dict[str, Any] = json.loads(sent["text"])
        if message["type"] == type:
            return message


async def test_a_turn_in_window_is_set_in_local_time_and_the_plan_follows(
    client: httpx.AsyncClient, site: Site
) -> None:
    answer = await client.patch("/api/v1/cook", json={"window": "00:00-00:30"})
    opens, closes = answer.json()["window_t"]
    assert closes - opens == pytest.approx(1800.0)
    assert closes > 0.0
    async with asyncio.timeout(60):
        while not (site.snapshot()["plan"] or {}).get("steps"):  # noqa: ASYNC110
            await asyncio.sleep(0.05)
    steps = site.snapshot()["plan"]["steps"]
    assert [s["name"] for s in steps][-3:] == ["box", "walk", "hand_in"]
    cleared = await client.patch("/api/v1/cook", json={"window": None})
    assert cleared.json()["window_t"] is None


async def test_a_window_that_cannot_be_read_is_refused_with_an_example(
    client: httpx.AsyncClient,
) -> None:
    refused = await client.patch("/api/v1/cook", json={"window": "at two"})
    assert refused.status_code == 409
    assert '"14:00-14:30"' in refused.json()["detail"]


async def test_durations_are_written_as_people_do_and_given_back(client: httpx.AsyncClient) -> None:
    answer = await client.patch("/api/v1/cook", json={"durations": {"walk": "3-4 min"}})
    assert answer.json()["durations"] == {"walk": {"low_s": 180.0, "high_s": 240.0}}
    usual = await client.patch("/api/v1/cook", json={"durations": {"walk": None}})
    assert usual.json()["durations"] == {}
    odd = await client.patch("/api/v1/cook", json={"durations": {"walk": "a bit"}})
    assert odd.status_code == 422


async def test_the_time_by_a_trusted_clock_moves_the_cook_s_start(
    client: httpx.AsyncClient, site: Site
) -> None:
    answer = await client.patch("/api/v1/cook", json={"wall": "2031-05-01T12:00:00+00:00"})
    assert answer.json()["started"].startswith("2031-05-01T1")
    assert (await client.patch("/api/v1/cook", json={"wall": "2031-05-01T12:00"})).is_error


async def test_a_pull_is_aimed_at_the_target_only_where_there_is_one(
    client: httpx.AsyncClient,
) -> None:
    refused = await client.patch("/api/v1/steaks/left", json={"pull_by": "target"})
    assert (refused.status_code, "target first" in refused.json()["detail"]) == (409, True)
    await client.patch("/api/v1/steaks/left", json={"target_c": 57.2})
    aimed = await client.patch("/api/v1/steaks/left", json={"pull_by": "target", "shift_c": 0.5})
    assert (aimed.json()["pull_by"], aimed.json()["shift_c"]) == ("target", 0.5)
    stuck = await client.patch("/api/v1/steaks/left", json={"target_c": None})
    assert stuck.status_code == 409


async def test_the_grate_is_checked_with_a_spot_without_a_steak(
    client: httpx.AsyncClient, site: Site
) -> None:
    answer = await post(client, "spots", steak=None, celsius=287.0)
    assert (answer.status_code, answer.json()["steak"]) == (201, None)
    async with asyncio.timeout(60):
        while site.snapshot()["fire"] is None:  # noqa: ASYNC110
            await asyncio.sleep(0.05)
    assert site.snapshot()["fire"]["celsius"] == 287
    assert (await post(client, "spots", steak=None, celsius=2000.0)).status_code == 409


async def test_a_phone_that_is_armed_makes_the_calls_heard(
    client: httpx.AsyncClient, site: Site
) -> None:
    assert (await post(client, "phones", phone="abcd-1", armed=True)).status_code == 204
    phones = site.snapshot()["outlets"][0]
    assert (phones["kind"], phones["state"]) == ("phones", "ok")
    assert (await post(client, "receipts", phone="abcd-1", call="c1")).status_code == 204
    assert (await post(client, "phones", phone="<script>", armed=True)).status_code == 422


async def test_an_alarm_that_was_never_made_cannot_be_put_aside(client: httpx.AsyncClient) -> None:
    answer = await post(client, "shelvings", call="c99", for_s=60)
    assert answer.status_code == 404


async def test_a_proposal_that_is_over_says_what_to_do(client: httpx.AsyncClient) -> None:
    answer = await post(client, "proposals", proposal="off-left-1.0", is_so=True)
    assert answer.status_code == 404
    assert "mark it yourself" in answer.json()["detail"]


@pytest.mark.parametrize(
    "body",
    [
        {"window": ""},
        {"wall": "0001-01-01T00:00:00+00:00"},
        {"wall": "9999-01-01T00:00:00+00:00"},
        {"fire_floor_c": 390.0, "fire_ceiling_c": 380.0},
    ],
)
async def test_settings_nobody_means_change_nothing(
    client: httpx.AsyncClient, site: Site, body: dict[str, object]
) -> None:
    before = site.snapshot()["cook"]
    assert (await client.patch("/api/v1/cook", json=body)).status_code in (409, 422)
    assert site.snapshot()["cook"] == before


async def test_floor_and_ceiling_are_raised_together(client: httpx.AsyncClient) -> None:
    answer = await client.patch(
        "/api/v1/cook", json={"fire_floor_c": 420.0, "fire_ceiling_c": 500.0}
    )
    assert answer.json()["fire"] == {"channel": None, "floor_c": 420.0, "ceiling_c": 500.0}


async def test_a_target_and_aiming_at_it_are_set_together(client: httpx.AsyncClient) -> None:
    answer = await client.patch("/api/v1/steaks/left", json={"target_c": 57.0, "pull_by": "target"})
    assert (answer.json()["target_c"], answer.json()["pull_by"]) == (57.0, "target")


async def test_the_next_cook_aims_alike_and_forgets_what_belonged_to_the_last_steaks(
    client: httpx.AsyncClient, site: Site
) -> None:
    await client.patch("/api/v1/steaks/left", json={"target_c": 57.0, "pull_by": "target"})
    await client.patch("/api/v1/steaks/left", json={"shift_c": 1.0, "look": "burnt edge"})
    assert (await post(client, "cooks")).status_code == 201
    left = site.cook.steaks["left"].settings
    assert (left.pull_by, left.target_c) == ("target", 57.0)
    assert (left.shift_c, left.look) == (0.0, "")


@pytest.mark.parametrize("name", ["a\u00a0b", "a\u200bb", "a\nb"])
async def test_a_name_that_the_log_could_not_give_back_is_refused(
    client: httpx.AsyncClient, name: str
) -> None:
    assert (await post(client, "cooks", steaks=[{"steak": name}])).status_code == 422
