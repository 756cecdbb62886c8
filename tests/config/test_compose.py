"""The compose file and its Dockerfile: as their specifications say, and closed.

No image is built in these tests: that needs a container engine and a registry of images.
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from pullcall.cli.main import COMMANDS
from pullcall.settings import load_settings
from tests.broker import EXAMPLE
from tests.tools import lacking

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "config" / "compose"
DOCKERFILE = FOLDER / "Dockerfile"
BIN = Path(sys.executable).parent
COMPOSE: dict[str, Any] = YAML(typ="safe").load(FOLDER / "compose.yaml")
SERVICES: dict[str, dict[str, Any]] = COMPOSE["services"]


def linted(*command: object) -> str:
    """What a checker of the development tools found; empty if it is content."""
    if not Path(str(command[0])).is_file():
        lacking(f"{command[0]} is missing; install it with: make .venv/dev")
    done = subprocess.run([*map(str, command)], capture_output=True, text=True, check=False)
    return "" if done.returncode == 0 else done.stdout + done.stderr


def test_the_compose_file_is_as_its_specification_says() -> None:
    # The JSON schema of the Compose specification, which this checker carries.
    schema = ("--builtin-schema", "vendor.compose-spec")
    assert linted(BIN / "check-jsonschema", *schema, FOLDER / "compose.yaml") == ""


def test_the_dockerfile_is_clean() -> None:
    assert linted(BIN / "hadolint", DOCKERFILE) == ""


@pytest.mark.parametrize("name", SERVICES)
def test_every_service_is_closed_and_asked_how_it_is(name: str) -> None:
    service = SERVICES[name]
    assert service["read_only"] is True
    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert not {"privileged", "cap_add", "devices"} & set(service)
    assert service["healthcheck"]["test"][0] == "CMD"


def test_only_the_encrypted_listener_is_reached_from_outside() -> None:
    ports = {name: service["ports"] for name, service in SERVICES.items() if "ports" in service}
    assert ports == {"broker": ["8883:8883"]}
    plain = re.findall(r"^listener (\d+)(.*)$", (EXAMPLE / "mosquitto.conf").read_text(), re.M)
    assert plain == [("1883", " 127.0.0.1"), ("8883", "")]


def test_no_secret_lies_in_the_source_tree() -> None:
    for secret in COMPOSE["secrets"].values():
        assert secret["file"].startswith("${SECRETS:-/etc/pullcall}/")
    for service in SERVICES.values():
        assert "environment" not in service
        assert set(_secrets(service)) <= set(COMPOSE["secrets"])


def test_the_broker_finds_every_file_that_its_configuration_names() -> None:
    service = SERVICES["broker"]
    mounted = {secret["target"] for secret in service["secrets"]}
    mounted |= {volume.split(":")[1] for volume in service["volumes"]}
    named = re.findall(r"^[a-z_]+ (/\S+)$", (EXAMPLE / "mosquitto.conf").read_text(), re.M)
    assert len(named) == 5
    assert {path.rstrip("/") for path in named} <= mounted
    for volume in service["volumes"][:2]:
        assert (FOLDER / volume.split(":")[0]).is_file()


def test_the_board_finds_its_secrets_and_is_asked_at_its_own_port() -> None:
    settings, service = load_settings(FOLDER / "board.toml"), SERVICES["board"]
    files = {settings.mqtt.password_file, settings.mqtt.ca}
    assert files == {Path("/run/secrets") / secret for secret in _secrets(service)}
    assert f":{settings.board.plain_at()}/" in service["healthcheck"]["test"][-1]


def test_a_site_is_asked_at_its_own_port() -> None:
    settings = load_settings(ROOT / "config" / "pullcall.toml")
    assert f":{settings.page.plain_at()}/" in SERVICES["site"]["healthcheck"]["test"][-1]


def test_every_service_runs_a_command_and_a_target_that_exist() -> None:
    text = DOCKERFILE.read_text()
    for name, service in SERVICES.items():
        build = service["build"]
        assert (FOLDER / build["context"] / build["dockerfile"]).samefile(DOCKERFILE)
        assert f"AS {build['target']}\n" in text
        assert name == "broker" or service["command"][0] in COMMANDS


def test_what_the_image_is_made_of_is_there_and_let_into_the_build() -> None:
    let_in = (FOLDER / "Dockerfile.dockerignore").read_text().splitlines()
    for line in re.findall(r"^COPY (?!--from)(.+) \S+$", DOCKERFILE.read_text(), re.M):
        for source in line.split():
            assert (ROOT / source).exists()
            assert f"!{source}" in let_in


def _secrets(service: dict[str, Any]) -> list[str]:
    named = service.get("secrets", [])
    return [one if isinstance(one, str) else one["source"] for one in named]
