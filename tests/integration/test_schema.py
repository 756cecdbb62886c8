"""The daemon answers as its OpenAPI description says, whatever it is sent (schemathesis)."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from typing import Any

import hypothesis
import pytest
import schemathesis
from hypothesis import HealthCheck, Phase
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from pullcall.api.openapi import FILE
from tests.integration.daemon import free_port

pytestmark = [pytest.mark.integration, pytest.mark.xdist_group("schema")]

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    negative_data_rejection,
]
#: The stream of events never ends; the tests of streams read it.
SCHEMA = schemathesis.openapi.from_path(FILE).exclude(path_regex="/events$")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a demo, asked from this machine: with every right."""
    port = free_port()
    log = tmp_path_factory.mktemp("demo") / "demo.db"
    command = [sys.executable, "-m", "pullcall", "demo", "--port", str(port), "--log", str(log)]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, env={"PYTHONUNBUFFERED": "1"}
    ) as process:
        assert process.stdout
        assert any("Ctrl-C" in line for line in process.stdout), "the demo did not start"
        yield f"http://127.0.0.1:{port}"
        assert process.poll() is None, "the demo ended while it was asked"
        process.terminate()
        process.wait(20)


@SCHEMA.parametrize()
@hypothesis.settings(
    max_examples=25,
    deadline=None,
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_every_answer_is_as_described(case: schemathesis.Case[Any], site: str) -> None:
    case.call_and_validate(base_url=site, checks=CHECKS, timeout=20)
