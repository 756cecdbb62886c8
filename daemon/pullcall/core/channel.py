"""A probe's channel, as settings name it."""

from __future__ import annotations

import re

from pullcall.errors import RefusedError


def is_channel(value: object) -> bool:
    """Whether this names a probe's channel: a device, a slash, a number."""
    if not isinstance(value, str) or not value.isprintable():
        return False
    return re.fullmatch(r"\S+/\d+", value) is not None


def check_channel(value: object) -> None:
    """Raise RefusedError for what is neither a channel nor None, which takes the probe away."""
    if value is not None and not is_channel(value):
        raise RefusedError(f"{value!r} is not a probe's channel: choose one from the list.")
