"""The daemon answers as its OpenAPI description says, whatever it is sent (schemathesis).

As this machine, which may do everything, and as those on the network: a cook's phone, a watcher, a
stranger. Who has not the right changes nothing. ``PULLCALL_SCHEMA_TIMES=20`` asks twenty times as
often.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import hypothesis
import pytest
import requests
import schemathesis
from hypothesis import HealthCheck, Phase
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from pullcall.api.guard.rights import NEEDED, OPEN, PREFIX
from pullcall.api.openapi import FILE
from tests.api.board.board_client import served_board
from tests.integration.asked_as import Asked, asked

pytestmark = [pytest.mark.integration, pytest.mark.xdist_group("schema")]

CONFORMS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
#: The stream of events never ends; the tests of streams read it.
SCHEMA = schemathesis.openapi.from_path(FILE).exclude(path_regex="/events$")
OF_BOARD = schemathesis.openapi.from_dict(served_board().app.openapi()).exclude(
    path_regex="/events$"
)
Case = schemathesis.Case[Any]
#: What is no request of this API is refused before anybody asks who sent it.
NONSENSE = (400, 404, 405, 422)
TIMES = int(os.environ.get("PULLCALL_SCHEMA_TIMES", "1"))


def asking(examples: int, *, every_kind: bool = TIMES > 1) -> hypothesis.settings:
    """How much is asked; of ``every_kind``: also each edge of each bound, one after the other."""
    return hypothesis.settings(
        max_examples=examples * TIMES,
        deadline=None,
        derandomize=TIMES == 1,
        phases=[Phase.explicit, Phase.generate] if every_kind else [Phase.generate],
        suppress_health_check=list(HealthCheck),
    )


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    state = tmp_path_factory.mktemp("demo")
    with asked(state, "demo", "--log", str(state / "demo.db")) as site:
        yield site


@SCHEMA.parametrize()
@asking(25, every_kind=True)
def test_every_answer_is_as_described(case: Case, site: Asked) -> None:
    checks = [*CONFORMS, negative_data_rejection]
    case.call_and_validate(base_url=site.here, checks=checks, timeout=20)


@pytest.fixture(scope="module")
def quiet(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    """A site at which nothing happens by itself, so that whatever changed was caused."""
    state = tmp_path_factory.mktemp("quiet")
    config = state / "pullcall.toml"
    config.write_text("[bluetooth]\nenabled = false\n[loudspeaker]\nenabled = false\n")
    with asked(state, "serve", "--config", str(config), "--log", str(state / "cooks.db")) as site:
        yield site


@pytest.fixture(scope="module")
def watchers(quiet: Asked) -> Iterator[Iterator[requests.Session]]:
    """Paired before anything is asked; when all is asked, nothing has changed."""
    clients = quiet.phones("watcher")
    before = _stands(quiet)
    yield clients
    assert _stands(quiet) == before


@pytest.fixture(scope="module")
def strangers(quiet: Asked, watchers: Iterator[requests.Session]) -> Iterator[requests.Session]:
    return quiet.strangers()


@pytest.fixture(scope="module")
def cooks(site: Asked) -> Iterator[requests.Session]:
    return site.phones("cook")


def _stands(site: Asked) -> dict[str, Any]:
    """All that somebody without the right could want to change."""

    def read(path: str) -> Any:
        return requests.get(f"{site.here}/api/v1/{path}", timeout=20).json()

    told = read("snapshot")
    names = ("cook", "marks", "spots", "steaks", "probes", "epoch", "outlets")
    who = [(one["id"], one["role"]) for one in read("pairings")]
    return {
        **{name: told[name] for name in names},
        "phones": who,
        "invitations": [one["id"] for one in read("invitations")],
        "cooks": [one["cook"] for one in read("cooks")],
        "learned": read("learned"),
    }


def _call(case: Case, site: Asked, clients: Iterator[requests.Session]) -> Any:
    """The answer to somebody on the network."""
    client = next(clients)
    return case.call(base_url=site.away, session=client, verify=client.verify, timeout=20)


def _may(case: Case, rights: set[str]) -> bool:
    route = case.method.upper(), case.path.removeprefix(PREFIX)
    return route in OPEN or (route in NEEDED and NEEDED[route] in rights)


@SCHEMA.parametrize()
@asking(1)
def test_a_stranger_changes_nothing_and_reads_nothing(
    case: Case, quiet: Asked, strangers: Iterator[requests.Session]
) -> None:
    answer = _call(case, quiet, strangers)
    case.validate_response(answer, checks=CONFORMS)
    if not _may(case, set()):
        assert answer.status_code in (401, *NONSENSE), (case.method, case.path)


@SCHEMA.parametrize()
@asking(1)
def test_a_watcher_changes_nothing(
    case: Case, quiet: Asked, watchers: Iterator[requests.Session]
) -> None:
    if case.path.endswith("/pairings/me"):
        pytest.skip("a watcher may forget itself")
    answer = _call(case, quiet, watchers)
    case.validate_response(answer, checks=CONFORMS)
    if not _may(case, {"read"}):
        assert answer.status_code in (403, *NONSENSE), (case.method, case.path)


@SCHEMA.parametrize()
@asking(1)
def test_a_cooks_phone_is_answered_as_described(
    case: Case, site: Asked, cooks: Iterator[requests.Session]
) -> None:
    answer = _call(case, site, cooks)
    case.validate_response(answer, checks=CONFORMS)


# What has no description: the board's own, the page about the certificate, the measurements


@pytest.fixture(scope="module")
def board(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    """A board whose broker is not there: it answers all the same."""
    state: Path = tmp_path_factory.mktemp("board")
    config = state / "pullcall.toml"
    config.write_text(
        '[mqtt]\nhost = "127.0.0.1"\nport = 9\n[metrics]\ntoken = "a-secret-token-of-a-test"\n'
    )
    with asked(state, "board", "--config", str(config), name="pullcall-board.local") as board:
        yield board


@OF_BOARD.parametrize()
@asking(1)
def test_a_board_answers_everybody_as_described(case: Case, board: Asked) -> None:
    for answer in (
        case.call(base_url=board.here, timeout=20),
        _call(case, board, board.strangers()),
    ):
        case.validate_response(answer, checks=CONFORMS)


PATHS = st.sampled_from(
    ["/", "/metrics", "/authority.crt", "/page/", "/page/style.css", "/worker.js", "/sites/a/"]
)
ODD = st.text(st.characters(codec="latin-1", exclude_characters="\r\n#?"), max_size=30)


@hypothesis.given(PATHS, ODD, st.sampled_from(["GET", "POST", "PUT", "HEAD", "DELETE"]), ODD)
@asking(20)
def test_pages_and_measurements_answer_whatever_is_asked(
    board: Asked, path: str, more: str, method: str, token: str
) -> None:
    away = next(board.strangers())
    headers = {"Authorization": f"Bearer {token}".strip().encode("latin-1")}
    plain = f"http://127.0.0.1:{board.port + 1}"
    for base, host in ((board.away, away.headers["Host"]), (plain, b"pullcall.local")):
        with requests.Session() if base == plain else away as session:
            answer = session.request(
                method,
                f"{base}{path}{quote(more)}",
                headers={**headers, "Host": host},
                allow_redirects=False,
                timeout=20,
            )
        assert answer.status_code < 500
        if answer.status_code != 400:  # no request at all, answered with fixed words
            assert answer.headers["x-content-type-options"] == "nosniff"
        if path == "/metrics":
            assert answer.status_code != 200
            assert "pullcall_" not in answer.text
