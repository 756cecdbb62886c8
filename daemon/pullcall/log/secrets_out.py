"""The text of ``pullcall.toml`` without what nobody else may know."""

from __future__ import annotations

import re
import tomllib
from copy import deepcopy
from typing import Any

_SECRET = re.compile(r"secret|bthome_key|\burl\b|[0-9a-f]{32}|https?://", re.IGNORECASE)
_TABLE = re.compile(r"\s*\[")


def without_secrets(config: str) -> str | None:
    """The settings without the webhook's address and secret and without the probes' keys.

    Lines that mention such things are left out, comments too; then the rest is read and held
    against the whole. None where it does not come out as it should, or where ``config`` is no TOML.
    """
    lines = [line for line in config.splitlines() if _TABLE.match(line) or not _SECRET.search(line)]
    text = "".join(f"{line}\n" for line in lines)
    try:
        whole, rest = tomllib.loads(config), tomllib.loads(text)
    except (ValueError, RecursionError):  # not TOML, or more than can be read of it
        return None
    if _bare(whole) != _bare(rest) or any(secret in text for secret in _secrets(whole)):
        return None
    return text


def _bare(settings: dict[str, Any]) -> dict[str, Any]:
    """The settings without secrets, and without sections that are then empty."""
    bare = deepcopy(settings)
    for section, names in (("webhook", ("url", "secret")), ("bluetooth", ("bthome_keys",))):
        table = bare.get(section)
        if isinstance(table, dict):
            bare[section] = {name: table[name] for name in table if name not in names}
    return {name: value for name, value in bare.items() if value != {}}


def _secrets(settings: dict[str, Any]) -> list[str]:
    webhook, bluetooth = settings.get("webhook", {}), settings.get("bluetooth", {})
    keys = bluetooth.get("bthome_keys", {}) if isinstance(bluetooth, dict) else {}
    named = [webhook.get("url"), webhook.get("secret")] if isinstance(webhook, dict) else []
    values = [*named, *(keys.values() if isinstance(keys, dict) else ())]
    return [value for value in values if isinstance(value, str) and value]
