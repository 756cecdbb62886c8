"""The topics of a site's state, one by one."""

from __future__ import annotations

from dataclasses import dataclass

from pullcall.bus import channels
from pullcall.bus.channels import Channel

#: The lanes that topics know: a cook's first steak, and its second.
LANES = (1, 2)


@dataclass(frozen=True, slots=True)
class Slot:
    """One topic of state: a channel, and of which steak."""

    channel: Channel
    lane: int | None = None


#: Every topic of state but the presence, in the order in which they are published.
SLOTS = tuple(
    Slot(channel, lane)
    for channel in channels.STATE
    if channel is not channels.PRESENCE
    for lane in (LANES if "{lane}" in channel.address else (None,))
)
