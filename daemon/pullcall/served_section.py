"""What ``pullcall.toml`` says about what is served: a site's page, a board, and the metrics."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, StringConstraints, model_validator

from pullcall.section import HostName, Port, Section


def _secret(text: str) -> str:
    if text and re.fullmatch("[0-9a-f]{64}", text) is None:
        raise ValueError("a secret is 64 hex digits: `openssl rand -hex 32` makes one")
    return text


def _token(text: str) -> str:
    if text and re.fullmatch(r"[\x21-\x7e]{16,200}", text) is None:
        raise ValueError("a token has 16 to 200 letters, digits and signs, without spaces")
    return text


class PageSection(Section):
    """Where and how the page is served, and in which unit it first shows temperatures.

    ``plain_port`` is the one after ``port`` if not given. ``tls`` concerns what is served beyond
    this machine, see docs/access.md. ``name`` is announced as NAME.local; ``names`` are others
    that this machine answers to.
    """

    host: str = "127.0.0.1"
    port: Port = 8317
    plain_port: Port | None = None
    unit: Literal["F", "C"] = "F"
    tls: Literal["local-ca", "files", "off"] = "local-ca"
    certificate: Path | None = None
    key: Path | None = None
    plain_control: bool = False
    name: Annotated[str, StringConstraints(pattern="^[a-z0-9]([a-z0-9-]{0,30}[a-z0-9])?$")] = (
        "pullcall"
    )
    names: tuple[HostName, ...] = ()

    @model_validator(mode="after")
    def _check_tls(self) -> Self:
        if self.tls == "files" and (self.certificate is None or self.key is None):
            raise ValueError('with tls = "files" give certificate and key too')
        return self

    def plain_at(self) -> int:
        """The port of plain http; by default the one after ``port``."""
        return self.plain_port or self.port + 1

    def served_at(self, host: str | None, port: int | None) -> Self:
        """The same with another host or port, where one is given."""
        given = {"host": host, "port": port}
        return self.model_copy(update={name: one for name, one in given.items() if one})

    def beside(self, folder: Path) -> Self:
        """The same with its files named from the configuration's own folder."""
        files = {"certificate": self.certificate, "key": self.key}
        named = {name: folder / file for name, file in files.items() if file is not None}
        return self.model_copy(update=named)


class BoardSection(PageSection):
    """Where ``pullcall board`` is served; as [page] otherwise.

    ``secret`` signs the links of watchers: boards that stand side by side share one (by default a
    board makes its own).
    """

    port: Port = 8327
    name: Annotated[str, StringConstraints(pattern="^[a-z0-9]([a-z0-9-]{0,30}[a-z0-9])?$")] = (
        "pullcall-board"
    )
    secret: Annotated[str, AfterValidator(_secret)] = ""


class MetricsSection(Section):
    """Who may read ``/metrics``: whoever sends this token; empty: only this machine itself."""

    token: Annotated[str, AfterValidator(_token)] = ""
