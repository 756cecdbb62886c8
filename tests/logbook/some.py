"""Two cooks of the logbook, made by hand: one with everything, one that nothing is known of."""

from __future__ import annotations

from pullcall.events import CookHeader, Note, Quantiles, SteakSettings
from pullcall.hindsight.facts import CookFacts, FireFacts, LeadScore, PeakScore, SteakFacts
from pullcall.log.cook_entry import CookEntry

WALL = "2026-06-13T18:00:00+00:00"
LEFT, RIGHT = SteakSettings("left", 31.5, 5.0, 53.9), SteakSettings("right", 33.0, 4.5, 54.5)
HEADER = CookHeader("cook-1", "2026-06-13T13:40:00.250+00:00", steaks=(LEFT, RIGHT))
ENTRY = CookEntry(HEADER, "boot", 0.0, "2026-06-13T15:00:00+00:00")
BARE = CookEntry(CookHeader("cook-2", "2026-07-04T01:30:00Z", steaks=(LEFT,)), "boot", 0.0, None)
NOTES = (
    Note(WALL, None, "place", "Riverside"),
    Note(WALL, None, "place", "Riverside Park"),
    Note(WALL, None, "contest", "River Cup"),
    Note(WALL, None, "tags", ("windy", "new coal")),
    Note(WALL, None, "notes", "=HYPERLINK(1)\nsecond line, with a comma"),
    Note(WALL, None, "score.taste", 8.5),
    Note(WALL, None, "score.first bite", "very good"),
    Note(WALL, "left", "weight_g", 480.0),
    Note(WALL, "left", "notes", "+1 salt"),
    Note(WALL, "right", "weight_g", 500.0),
    Note(WALL, "right", "weight_g", None),
)
FACTS = CookFacts(
    cook="cook-1",
    setup=HEADER,
    ends_t=1500.0,
    steaks=(
        SteakFacts(
            "left",
            LEFT,
            on_t=60.0,
            off_t=620.0,
            handed_in_t=1300.0,
            start_c=4.2,
            pull_c=53.9,
            cross_t=615.0,
            now_t=616.0,
            off_c=54.1,
            peak_t=700.0,
            peak_c=57.0,
            climb_told_c=Quantiles(2.0, 2.5, 3.0),
            leads=(
                LeadScore(40.0, 575.0, Quantiles(35.0, 42.5, 50.0), 40.0, 2.0, 20.0),
                LeadScore(20.0, 595.0, Quantiles(21.0, 23.0, 25.0), 20.0, 2.0, 20.0),
            ),
            peaks=(PeakScore(0.0, 620.0, Quantiles(56.0, 56.6, 58.0), 57.0, 0.3),),
        ),
        SteakFacts("right", RIGHT, on_t=70.0),
    ),
    fire=FireFacts(at_on_c=287.0, low_c=270.5, high_c=301.0),
    window_t=(1200.0, 1800.0),
    chance_at_on=0.9,
)
