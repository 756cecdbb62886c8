"""The Bluetooth service and its adapters as last heard of. No I/O."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pullcall.sources.sink import AdapterState, AdapterStatus

_PATH = "/org/bluez/"

NO_BUS = (
    "No system message bus answers, so Bluetooth cannot be used; install and start bluez "
    "(sudo apt install bluez)."
)
NO_ANSWER = "The Bluetooth service does not answer; run: sudo systemctl restart bluetooth"
NO_SERVICE = "The Bluetooth service is not running; start it with: sudo systemctl start bluetooth"
NO_ADAPTER = (
    "There is no Bluetooth adapter; plug one in, or unblock it with: rfkill unblock bluetooth"
)
NO_PERMISSION = (
    "This user may not use Bluetooth; run: sudo usermod -aG bluetooth $USER, then log in again."
)
STUCK = (
    "No device at all has been heard for a while; switch a probe on, or if one is on, unplug "
    "the adapter and plug it in again (sudo systemctl restart bluetooth for a built-in one)."
)


@dataclass(frozen=True, slots=True)
class Usable:
    """The adapter to use, such as ``hci0``. ``life`` changes with each restart or loss of it."""

    name: str
    life: int


class Radio:
    """Which adapter can be used, and if none, what to do about it."""

    def __init__(self, preferred: str | None) -> None:
        self._preferred = preferred
        self._has_owner = False
        self._is_denied = False
        self._powered: dict[str, bool] = {}
        self._lives: dict[str, int] = {}
        self._services = 0

    def denied(self) -> None:
        """The bus does not let this user speak to the service."""
        self._is_denied = True

    def owner_changed(self, owner: str) -> None:
        """The service started or ended: whatever it had said is void."""
        self._has_owner = bool(owner)
        self._is_denied = False
        self._powered.clear()
        self._services += 1

    def service_seen(self) -> None:
        """The service answered."""
        self._has_owner, self._is_denied = True, False

    def adapter_seen(self, path: str, properties: Mapping[str, object]) -> None:
        """An adapter is there, with these properties (all, or those that changed)."""
        name = path.removeprefix(_PATH)
        if "Powered" not in properties and name in self._powered:
            return
        powered = bool(properties.get("Powered", False))
        if self._powered.get(name) and not powered:
            self._end_life(name)
        self._powered[name] = powered

    def adapter_gone(self, path: str) -> None:
        """An adapter was pulled."""
        name = path.removeprefix(_PATH)
        if self._powered.pop(name, None) is not None:
            self._end_life(name)

    def still_lives(self, adapter: Usable) -> bool:
        """Whether ``adapter`` has stood unbroken since it was chosen."""
        return self._powered.get(adapter.name, False) and self._usable(adapter.name) == adapter

    def choose(self) -> Usable | AdapterStatus:
        """The adapter to use, or what is wrong."""
        name = self._preferred or "bluetooth"
        if self._is_denied:
            return AdapterStatus(name, AdapterState.MISSING, NO_PERMISSION)
        if not self._has_owner:
            return AdapterStatus(name, AdapterState.MISSING, NO_SERVICE)
        return self._chosen()

    def _chosen(self) -> Usable | AdapterStatus:
        known = sorted(self._powered)
        if self._preferred is not None and self._preferred not in known and known:
            wrong = f"There is no adapter {self._preferred}; plug it in, or use {known[0]}."
            return AdapterStatus(self._preferred, AdapterState.MISSING, wrong)
        candidates = known if self._preferred is None else [self._preferred]
        if not known:
            return AdapterStatus(self._preferred or "hci0", AdapterState.MISSING, NO_ADAPTER)
        for name in candidates:
            if self._powered[name]:
                return self._usable(name)
        off = f"The adapter {candidates[0]} is off; switch it on with: bluetoothctl power on"
        return AdapterStatus(candidates[0], AdapterState.OFF, off)

    def _usable(self, name: str) -> Usable:
        return Usable(name, self._services + self._lives.get(name, 0))

    def _end_life(self, name: str) -> None:
        self._lives[name] = self._lives.get(name, 0) + 1
