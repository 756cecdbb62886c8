"""What surrounds every simulated cook: the morning before it, and its turn-in window."""

from __future__ import annotations

from pullcall.events import MarkKind

#: The turn-in window opens and closes so long after the steaks may go on, seconds: it is half an
#: hour, as usual.
WINDOW_S = (1080.0, 2880.0)
#: What was done before, and how long before the steaks go on, seconds.
MORNING = (
    (MarkKind.SEASONED, 2700.0),
    (MarkKind.LIT, 2400.0),
    (MarkKind.POURED, 1380.0),
    (MarkKind.FETCHED, 60.0),
)
