"""How a site presents itself and what a new cook starts from."""

from __future__ import annotations

from dataclasses import dataclass

from pullcall.events import CarryOver, SteakSettings


@dataclass(frozen=True, slots=True)
class SiteOptions:
    """``speed`` is how many times faster than life the clock runs; ``boot`` names this boot."""

    mode: str = "live"
    unit: str = "F"
    speed: float = 1.0
    banner: str | None = None
    boot: str = "unknown"
    steaks: tuple[SteakSettings, ...] = (SteakSettings("left"), SteakSettings("right"))
    rest_on: str = "rack"
    carry_over: CarryOver = CarryOver.FORECAST
    simulated: bool = False
