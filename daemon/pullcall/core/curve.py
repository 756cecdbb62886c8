"""A steak's readings for drawing: bounded, thinned evenly as the cook grows longer."""

from __future__ import annotations

_MOST = 400


class Curve:
    """At most 400 points; when full, every second one goes and new ones come half as often."""

    def __init__(self) -> None:
        self._points: list[tuple[float, float]] = []
        self._spacing = 1.0

    def add(self, t: float, celsius: float) -> None:
        """Add a reading, unless the last point kept is too near in time."""
        if self._points and t - self._points[-1][0] < self._spacing:
            return
        self._points.append((t, round(celsius, 2)))
        if len(self._points) >= _MOST:
            del self._points[1::2]
            self._spacing *= 2.0

    def points(self) -> list[tuple[float, float]]:
        """(t in cook seconds, Celsius), oldest first."""
        return list(self._points)
