"""Scenarios: the probes of a virtual adapter, written down as JSON."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

from pullcall.errors import ConfigError
from pullcall.simulators.bluetooth.probes import Probe, Standard

#: One probe of each standard; addresses are locally administered, so they belong to nobody.
DEMO = (
    Probe("02:00:00:00:01:01", "left steak", Standard.HEALTH_THERMOMETER),
    Probe("02:00:00:00:01:02", "right steak", Standard.COOKWARE),
    Probe("02:00:00:00:01:03", "grate", Standard.ENVIRONMENTAL_SENSING, ("1", "2")),
    Probe("02:00:00:00:01:04", "spare", Standard.BTHOME),
)
_NAMES = frozenset(field.name for field in fields(Probe))


def load(scenario: str) -> tuple[Probe, ...]:
    """The probes of ``demo`` or of a JSON file ``{"probes": [{"address": ...}, ...]}``."""
    if scenario == "demo":
        return DEMO
    try:
        found = json.loads(Path(scenario).read_text(encoding="utf-8"))
        return tuple(probe_from(entry) for entry in found["probes"])
    except (OSError, ValueError, KeyError, TypeError) as exc:
        raise ConfigError(f"scenario {scenario} cannot be used: {exc}") from exc


def dump(probes: Sequence[Probe]) -> str:
    """The JSON that :func:`load` reads back as the same probes."""
    return json.dumps({"probes": [asdict(probe) for probe in probes]}, indent=1)


def probe_from(entry: dict[str, Any]) -> Probe:
    """One probe from its JSON object. Raises :class:`ConfigError` for keys it does not know."""
    unknown = sorted(set(entry) - _NAMES)
    if unknown:
        known = ", ".join(sorted(_NAMES))
        raise ConfigError(f"a probe has no {', '.join(unknown)}; it has {known}")
    try:
        standard = Standard(entry["standard"])
        channels = tuple(str(channel) for channel in entry.get("channels", ("1",)))
        return Probe(**{**entry, "standard": standard, "channels": channels})
    except (KeyError, TypeError, ValueError) as exc:
        raise ConfigError(f"a probe needs an address, a name and a standard: {exc}") from exc
