"""How a site presents itself and what a new cook starts from."""

from __future__ import annotations

from dataclasses import dataclass

from pullcall.events import CookHeader

#: What a new cook starts from where nothing else is said; it gets an id and a start of its own.
USUAL = CookHeader("", "")


@dataclass(frozen=True, slots=True)
class SiteOptions:
    """``speed`` is how many times faster than life the clock runs; ``boot`` names this boot.

    ``usual`` is the template of a new cook; ``window`` its turn-in window as people write it
    ("14:00-14:30"): the next one of that name when the cook begins. ``config`` is the text of the
    configuration file, for backups. ``goes_on``: a cook that was running when the daemon stopped is
    gone on with; otherwise each start is a cook of its own.
    """

    mode: str = "live"
    unit: str = "F"
    speed: float = 1.0
    banner: str | None = None
    boot: str = "unknown"
    usual: CookHeader = USUAL
    window: str | None = None
    config: str | None = None
    goes_on: bool = True
