"""After how long something is done about a link."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Timings:
    """Seconds (and counts) after which something is done. The defaults come from the field."""

    stale_s: float = 3.0
    stale_intervals: float = 3.0
    reconnect_s: float = 9.0
    lost_s: float = 30.0
    connect_s: float = 10.0
    disconnect_s: float = 10.0
    read_s: float = 3.0
    poll_s: float = 1.0
    #: How often the age of data is looked at.
    tick_s: float = 0.25
    #: A scan that hears nothing at all for this long is started anew, ...
    quiet_scan_s: float = 30.0
    #: ... and after so many fresh starts the adapter counts as stuck.
    quiet_scans: int = 3
    #: A probe whose adverts are not heard is tried all the same after this long.
    unheard_s: float = 30.0
    #: A probe that has sent nothing for this long makes way where too many devices are heard; a
    #: battery is changed sooner, ...
    makes_way_s: float = 120.0
    #: ... and a device that never sent a temperature, once it is unheard for this long.
    stranger_makes_way_s: float = 10.0
    #: A missing adapter or service is looked for this often.
    look_again_s: float = 5.0
    #: How long people see that the adapter restarted.
    restarted_s: float = 15.0
    back_off_s: tuple[float, ...] = (0.5, 1.0, 2.0, 4.0, 5.0)
    #: Share of a wait that is random, so that two probes do not keep colliding.
    jitter: float = 0.2
