"""What a collector is told when it starts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from pullcall.sources.layout import Layout
from pullcall.sources.timings import Timings


@dataclass(frozen=True, slots=True)
class BluetoothOptions:
    """Which adapter (None: the first that is on), which devices, how to read them.

    ``only`` lists the addresses to use (empty: every device with a known service or layout);
    ``bthome_keys`` maps an address to its 16-byte key.
    """

    adapter: str | None = None
    only: tuple[str, ...] = ()
    layouts: tuple[Layout, ...] = ()
    bthome_keys: Mapping[str, bytes] = field(default_factory=lambda: MappingProxyType({}))
    timings: Timings = field(default_factory=Timings)
