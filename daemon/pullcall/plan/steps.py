"""The chain of steps from seasoning to turn-in: names, how long each takes, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pullcall.events import Range

COMMON_PRACTICE = "common practice, no source"
#: The thickness that the range of ``cook`` holds for, millimetres (1.25 in).
USUAL_THICKNESS_MM = 32.0


@dataclass(frozen=True, slots=True)
class Step:
    """One step. ``asks`` is whether the cook has to do something when it begins, other than
    what a pull call asks; ``label`` says what, with the steak's name; ``why`` says why it takes
    what it takes, and ``source`` who says so."""

    name: str
    takes: Range
    asks: bool
    label: str
    why: str
    source: str = COMMON_PRACTICE

    @property
    def reason(self) -> str:
        """Why, and who says so."""
        return f"{self.why}; {self.source}"


def _minutes(low: float, high: float) -> Range:
    return Range(60.0 * low, 60.0 * high)


#: In the order of the day. Two branches (season, cold, fetch; light, pour, heat_up) meet where
#: the steaks go on. The names are keys of ``CookHeader.durations`` and of the configuration.
STEPS = (
    Step(
        "season",
        _minutes(10, 20),
        True,
        "Season the steaks",
        "trim, salt and season",
    ),
    Step(
        "cold",
        _minutes(30, 30),
        False,
        "Keep the steaks cold",
        "the salt works in, at least 30 min, on ice",
    ),
    Step(
        "light",
        _minutes(15, 20),
        True,
        "Light the chimney",
        "until the top coals are grey",
    ),
    Step(
        "pour",
        _minutes(2, 4),
        True,
        "Pour the coal",
        "unlit coal on top, for a fire that lasts",
    ),
    Step(
        "heat_up",
        _minutes(15, 25),
        False,
        "Heat the grate",
        "lid on until the grate is over 500 F",
    ),
    Step(
        "fetch",
        _minutes(2, 4),
        True,
        "Fetch the steaks",
        "off the ice, probes in, a last look",
    ),
    Step(
        "cook",
        _minutes(8.5, 12),
        True,
        "Put {steak} on",
        "a 1.25 in ribeye, until the forecast knows better",
    ),
    Step(
        "rest",
        _minutes(7, 10),
        False,
        "Rest {steak}",
        "the core climbs to its peak",
    ),
    Step(
        "box",
        _minutes(1.5, 3),
        True,
        "Box it",
        "choose the better steak, lay it in, close",
    ),
    Step(
        "walk",
        _minutes(2, 5),
        True,
        "Walk to turn-in",
        "walk it once and set your own",
        "it depends on the site",
    ),
)
#: The last moment of the plan; it takes no time.
HAND_IN = Step(
    "hand_in", Range(0.0, 0.0), True, "Hand in", "inside the window", "the rules of the contest"
)

NAMES = tuple(step.name for step in STEPS)
STEP = {step.name: step for step in (*STEPS, HAND_IN)}


def label(name: str, steak: str | None = None) -> str:
    """What to do at a step, in words: "Light the chimney", "Put left on"."""
    return STEP[name].label.format(steak=steak or "the steaks")


def takes(
    name: str, durations: Mapping[str, Range], thickness_mm: float = USUAL_THICKNESS_MM
) -> Range:
    """How long a step takes: the cook's own from ``durations``, or the default.

    The default of ``cook`` goes with the square of the thickness: at equal temperatures inside,
    equal Fourier numbers alpha t / L^2 (any text on heat conduction), as long as the surface
    stays near the boiling point of its water.
    """
    if own := durations.get(name):
        return own
    usual = STEP[name].takes
    if name != "cook":
        return usual
    scale = (thickness_mm / USUAL_THICKNESS_MM) ** 2
    return Range(usual.low_s * scale, usual.high_s * scale)


def check_names(durations: Mapping[str, Range]) -> None:
    """Raises ValueError with a sentence where a name is no step's."""
    if unknown := [name for name in durations if name not in NAMES]:
        raise ValueError(f"there is no step {unknown[0]!r}: the steps are {', '.join(NAMES)}")
