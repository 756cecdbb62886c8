"""One device's link as people see it. No I/O; every ``now`` is monotonic seconds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum, auto

from pullcall.sources.age import Age, DataAge
from pullcall.sources.decoding import Temperature, Verdict
from pullcall.sources.sink import LinkCounts, LinkState, ProbeStatus
from pullcall.sources.timings import Timings

#: After so many connects in vain, people are told what usually helps.
_ADVISE_AFTER = 4
#: Letters of a name and of a channel's label that are shown: strangers in range choose them too.
_LONGEST_NAME, _LONGEST_LABEL = 40, 30
_ADVICE = "bring it closer, or use a USB adapter on a cable, away from Wi-Fi"

_SIBLINGS_SEND = "the other channels of its device send: check its plug"
_SENDS_NOTHING = "connected, and it sends nothing"
_UNHEARD = "it is not heard: switch it on, bring it closer"

_NOTES = {
    Verdict.INVALID: "the probe sends no temperature: check its plug",
    Verdict.OUT_OF_RANGE: "its value is out of range: check the probe, or the range of its layout",
}


class Phase(Enum):
    """What is being done about the link."""

    SEARCHING = auto()
    CONNECTING = auto()
    CONNECTED = auto()
    LISTENING = auto()


@dataclass(slots=True)
class _Channel:
    standard: str
    label: str = ""
    last: Temperature | None = None
    heard_at: float | None = None
    good_at: float | None = None


class Link:
    """A device, its channels, and the state of both.

    ``quiet`` is the note on one that is not connected to, while nothing new comes.
    """

    def __init__(
        self, address: str, standard: str, timings: Timings, *, connects: bool, quiet: str = ""
    ) -> None:
        self.address = address
        self.name = ""
        self.standard = standard
        self.rssi_dbm: int | None = None
        self.battery_percent: int | None = None
        self.phase = Phase.SEARCHING if connects else Phase.LISTENING
        self.attempts = 0
        self.refused = 0
        self.values = 0
        self.note = ""
        self._quiet = quiet
        self._connects = self._connected = 0
        self._timings = timings
        self._age = DataAge(timings)
        self._channels: dict[int, _Channel] = {}

    def channel(self, number: int) -> str:
        """The stable name of one of its channels."""
        return f"{self.address}/{number}"

    # What happens to the link

    def was_heard(self, name: str, rssi_dbm: int | None) -> None:
        """It advertised."""
        self.name = _plain(name, _LONGEST_NAME) or self.name
        self.rssi_dbm = rssi_dbm

    def is_connecting(self) -> None:
        """A connect begins."""
        self.phase = Phase.CONNECTING
        self.attempts += 1
        self._connects += 1

    def has_connected(self, now: float, channels: Mapping[int, str]) -> None:
        """The link stands and its values are subscribed to; ``channels`` gives standards."""
        self.phase = Phase.CONNECTED
        self._connected += 1
        self.note = ""
        self._age.linked(now)
        for number, standard in channels.items():
            self._channels.setdefault(number, _Channel(standard))

    def is_labelled(self, number: int, text: str) -> None:
        """The device calls this channel ``text``."""
        self._channels[number].label = _plain(text, _LONGEST_LABEL)

    def has_dropped(self, reason: str, *, gave_up: bool = False) -> None:
        """The link (or the connect) ended; ``gave_up``: for its silence."""
        if gave_up:
            self._age.gave_up()
        self.note = f"{reason}; {_ADVICE}" if self.attempts >= _ADVISE_AFTER else reason
        # Between two tries people see "connecting (n)"; after a loss, "searching".
        self.phase = Phase.CONNECTING if self.attempts else Phase.SEARCHING

    def is_sought(self) -> None:
        """An advert is being waited for."""
        self.phase = Phase.SEARCHING

    def is_cut_off(self, reason: str) -> None:
        """Nothing can be heard from it now, for a reason that is not its own."""
        if self.phase is not Phase.LISTENING:
            self.has_dropped(reason)
            self.is_sought()
        else:
            self.note = reason

    def may_be_heard(self) -> None:
        """It can be heard again; whether it is has to be seen."""
        self.note = ""

    def is_listened_for(self, now: float) -> None:
        """It may be heard from here on: what it sent before is not missing."""
        self._age.linked(now)

    def has_value(self, number: int, value: Temperature, now: float) -> float | None:
        """Take one value; returns the Celsius to deliver, or None."""
        channel = self._channels.setdefault(number, _Channel(self.standard))
        channel.last, channel.heard_at = value, now
        self._age.heard(now, number)
        self.attempts = 0
        self.note = ""
        if value.good is not None:
            channel.good_at = now
            self.values += 1
        return value.good

    def has_refused(self, reason: str, packets: int = 1) -> None:
        """Packets could not be read. They prove nothing about the link."""
        self.refused += packets
        self.note = reason

    # What is to be said and done about it

    def judge(self, now: float) -> Age:
        """What the age of its data asks for."""
        return self._age.judge(now)

    @property
    def is_proven(self) -> bool:
        """Whether it has ever sent a temperature."""
        return self.values > 0

    def is_streaming(self, now: float) -> bool:
        """Whether it stands and its data is fresh."""
        return self.phase is Phase.CONNECTED and self._age.judge(now) is Age.FRESH

    def statuses(self, now: float) -> tuple[ProbeStatus, ...]:
        """Every channel, by number; a device not read yet is shown as its first channel."""
        channels = self._channels or {1: _Channel(self.standard)}
        return tuple(self._status(n, channel, now) for n, channel in sorted(channels.items()))

    def counts(self) -> LinkCounts:
        """What became of it since the daemon began."""
        return LinkCounts(self.address, self._connects, max(0, self._connected - 1))

    def _status(self, number: int, channel: _Channel, now: float) -> ProbeStatus:
        state = self._state(channel, now)
        shown = channel.last is not None and state in (LinkState.STREAMING, LinkState.STALE)
        return ProbeStatus(
            channel=self.channel(number),
            device=self.address,
            name=f"{self.name} ({channel.label})" if channel.label else self.name,
            standard=channel.standard,
            state=state,
            celsius=channel.last.good if shown and channel.last else None,
            battery_percent=self.battery_percent,
            rssi_dbm=self.rssi_dbm,
            age_s=None if channel.good_at is None else max(0.0, now - channel.good_at),
            attempts=self.attempts,
            refused=self.refused,
            note=self._note(channel, state, now),
        )

    def _state(self, channel: _Channel, now: float) -> LinkState:
        age = None if channel.heard_at is None else now - channel.heard_at
        if age is not None and age >= max(self._timings.lost_s, self._age.stale_after_s):
            return LinkState.LOST
        if self.phase is Phase.SEARCHING:
            return LinkState.SEARCHING
        if self.phase is Phase.CONNECTING:
            return LinkState.CONNECTING
        if age is None:
            waits_for = Phase.CONNECTED is self.phase
            return LinkState.CONNECTING if waits_for else LinkState.SEARCHING
        return LinkState.STALE if age >= self._age.stale_after_s else LinkState.STREAMING

    def _note(self, channel: _Channel, state: LinkState, now: float) -> str:
        if state is LinkState.STREAMING and channel.last is not None:
            return _NOTES.get(channel.last.verdict, "")
        if self.note:
            return self.note
        is_late = state in (LinkState.STALE, LinkState.LOST)
        if self.phase is Phase.LISTENING:
            return self._quiet if is_late else ""
        if self.phase is Phase.CONNECTED:
            return self._note_while_connected(state, now)
        return _UNHEARD if is_late else ""

    def _note_while_connected(self, state: LinkState, now: float) -> str:
        if state is LinkState.CONNECTING:
            return "connected, and waiting for its first value"
        return _SIBLINGS_SEND if self.is_streaming(now) else _SENDS_NOTHING


def _plain(text: str, longest: int) -> str:
    """What of a text prints as it reads: no controls, nothing that runs backward."""
    return "".join(letter for letter in text if letter.isprintable())[:longest].strip()
