"""What the configuration says about the broker."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path

#: A site's id: one level of a topic, and what the Homie convention allows as an id.
SITE = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,30}[a-z0-9])?")


@dataclass(frozen=True, slots=True)
class BrokerOptions:
    """How to reach the broker. ``password`` is not shown by ``repr``.

    With ``tls`` the broker's certificate is checked against ``ca`` (None: the system's
    authorities); ``certificate`` and ``key`` are the client's own, if it has to show one.
    """

    host: str
    port: int
    tls: bool = True
    user: str | None = None
    password: str | None = field(default=None, repr=False)
    ca: Path | None = None
    certificate: Path | None = None
    key: Path | None = None


@dataclass(frozen=True, slots=True)
class SiteOptions:
    """What a site publishes as: ``site`` is its id in every topic, ``name`` what people read.

    ``homie``: it also shows itself to home automation.
    """

    site: str
    name: str
    homie: bool = True
