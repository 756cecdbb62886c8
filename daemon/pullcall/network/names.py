"""The names under which this machine is asked for."""

from __future__ import annotations

import re
import socket
from collections.abc import Iterable

_UNNAMED = "pullcall"
_LONGEST_LABEL = 63


def host_name() -> str:
    """This machine's name, one label as it stands in addresses: "pit" for "Pit.example"."""
    return as_label(socket.gethostname())


def as_label(name: str) -> str:
    """The first part of a name, with what cannot stand in an address as a hyphen."""
    first = name.partition(".")[0].lower()
    return re.sub(r"[^a-z0-9-]", "-", first)[:_LONGEST_LABEL].strip("-") or _UNNAMED


def local_name(name: str) -> str:
    """The name as it is announced: "pullcall.local"."""
    return f"{as_label(name)}.local"


def own_names(name: str, others: Iterable[str] = ()) -> tuple[str, ...]:
    """Every name this machine answers to besides "localhost": as announced first.

    ``name`` is the one to announce, ``others`` lead here by somebody else's doing.
    """
    host = host_name()
    # A machine without a name of its own calls itself localhost, as every machine does.
    own = [] if host == "localhost" else [local_name(host), host]
    given = [other.lower().rstrip(".") for other in others]
    return tuple(dict.fromkeys([local_name(name), *own, *given]))
