"""Every figure that decides when something is called, in one place: change it here only.

What sounds when nothing is wrong is a call; an alarm says that something needs a person. The
ideas of priorities, latching, deadbands, delays and shelving are inspired by ISA-18.2 and
IEC 60601-1-8 as secondary texts tell of them; nothing here claims to conform.
"""

from __future__ import annotations

from dataclasses import dataclass

from pullcall.events import CallKind, Fault

# One voice at a time ------------------------------------------------------------------------
#: Two bursts lie at least this far apart, seconds ...
VOICE_GAP_S = 4.0
#: ... but something to do in seconds waits only this long behind another of its kind, and not
#: at all behind anything lesser.
URGENT_GAP_S = 2.0

# Pulls --------------------------------------------------------------------------------------
#: Seconds to go at which a pull is announced, first to last.
PULL_LEADS_S = (40.0, 20.0, 10.0)
#: A pull is only announced ahead while the p10-p90 band is not wider than this many leads: the
#: median is announced, and a wider band would make the number said a guess. A fixed 20 s would
#: leave every fifth pull uncalled at forty.
#: Without a probe there is no such limit: spots give wide bands and nothing better comes.
WIDEST_BAND_IN_LEADS = 1.0
#: ... and while the newest reading is not older than this, seconds.
FRESH_S = 3.0
#: "Hold" when a pull announced ahead slips later by more than this, seconds, and how often.
HOLD_S = 20.0
MOST_HOLDS = 2
#: A pull temperature raised by so much since the last call about it is another pull, kelvin.
AIMED_ANEW_C = 0.3
#: "Pull now" when the forecast says this little is left, seconds; for a while after a flip, which
#: bends the rise of a core off the middle, only when the core is there.
NOW_S = 3.0
#: Two forecasts in a row, a second apart, are there on average this long after the first of them
#: could be, s: so NOW_S suits a cook who needs the difference from hearing "pull now" to the steak
#: leaving. For a slower cook it is called that much earlier, up to this long ahead, s.
HEARD_AFTER_S = 1.5
USUAL_REACTION_S, LONGEST_REACTION_S = NOW_S - HEARD_AFTER_S, 20.0
FLIP_SETTLES_S = 60.0
#: "Over" this far above the pull temperature, kelvin.
OVER_C = 1.7
#: The forecast is shaky when its band is wider than this with the pull this near, for so long, s.
#: Ninety seconds ahead every second sound forecast is 25 s wide: told at that distance, 63 of 159
#: steaks of simulated cooks had the alarm, 25 of 60 with a sound probe; at this, one and none.
SHAKY_BAND_S = 25.0
SHAKY_NEAR_S = 45.0
SHAKY_ON_S = 5.0
#: A shaky forecast gives way to the temperature: stand by this far below the pull, kelvin.
STAND_BY_C = 1.7

# Turns and flips ----------------------------------------------------------------------------
#: A turn or flip is announced this long ahead, and again when due, seconds.
TURN_LEADS_S = (10.0, 0.0)
#: An act nobody tapped is called once more this long after it was due, seconds.
TURN_REMINDER_S = 8.0
#: The same act of two steaks due within this many seconds is called as one.
TWINS_S = 10.0

# Probes -------------------------------------------------------------------------------------
#: A probe is lost after this long, or this many of its usual intervals, whichever is longer, s;
#: far from the pull after the longer time: the forecast carries on over a short silence, and a
#: cook with full hands is not asked for a spot that changes nothing.
LOST_S, LOST_FAR_S = 6.0, 20.0
LOST_INTERVALS = 5.0
#: Good readings in a row that clear a lost probe.
GOOD_READINGS = 3
#: A core does not fall, nor rise, by so much, kelvin, in so short a time, seconds.
FALL_C, FALL_S = 1.7, 5.0
JUMP_C, JUMP_S = 2.8, 2.0
#: Handling moves a probe: nothing is said of it for this long after a mark, seconds.
QUIET_AFTER_MARK_S = 20.0
#: A probe that read wrong is trusted again after this long without another slip, seconds.
STEADY_S = 30.0
#: A pull due within this many seconds makes trouble with its probe, or with being heard, urgent,
#: until it is farther than the longer time again: a forecast that trembles raises nothing anew.
URGENT_S, NOT_URGENT_S = 120.0, 150.0

# Spots --------------------------------------------------------------------------------------
#: A steak without a probe: a spot is asked for when the pull may come this soon (the p10) and the
#: last spot is older than this, s. Two and a half minutes leave time to open the lid, to spot, and
#: to hear forty after it; within two minutes of a spot another narrows the forecast by little.
#: Not before a flip that comes before the pull, nor until it has settled.
SPOT_NEAR_S, SPOT_AGED_S = 150.0, 120.0
#: Where none comes it is asked for again this much later, s; so often in all.
SPOT_AGAIN_S, MOST_SPOTS_ASKED = 90.0, 2
#: A pull called this soon after a spot at the pull temperature is measured and no estimate, s.
AT_THE_PULL_S = 60.0

# Fire ---------------------------------------------------------------------------------------
#: The grate is called low or high after this long outside, fine after this long inside, s.
FIRE_ON_S, FIRE_OFF_S = 30.0, 20.0
#: It is inside again only this far from the edge, kelvin.
FIRE_DEADBAND_C = 14.0

# The rest -----------------------------------------------------------------------------------
#: Rested: the least rest is over and the core is this far below its peak, kelvin, this long, s.
PAST_PEAK_C, PAST_PEAK_S = 0.3, 20.0
#: A core that stays level (covered meat) counts as past its peak this long after the least rest.
LEVEL_REST_S = 180.0

# The plan and the window --------------------------------------------------------------------
#: A step of the plan becomes pressing this long before its latest time, seconds.
STEP_PRESSES_S = 300.0
#: The window's end is told this long ahead, and alarms this long ahead, seconds.
CLOSES_SOON_S, CLOSES_NOW_S = 300.0, 120.0

# Answers ------------------------------------------------------------------------------------
#: An alarm to act on in seconds that nobody answers becomes insistent after this long, s.
INSISTENT_S = 10.0
#: The longest an alarm can be put aside, seconds; one to act on in seconds never can.
LONGEST_SHELF_S = 300.0


@dataclass(frozen=True, slots=True)
class AlarmRule:
    """How an alarm behaves.

    ``on_s``: how long its cause has to stand first, seconds. ``repeat_s``: how often it sounds
    until answered, seconds, by priority 1, 2 and 3 (None: once). ``insists``: whether it goes on
    without a pause once nobody answered.
    """

    call: CallKind
    repeat_s: tuple[float, float | None, float | None]
    insists: bool = False
    on_s: float = 0.0


#: Priority 1 is never silent for longer than five seconds until somebody answers.
_P1_S = 5.0
ALARMS = {
    rule.call: rule
    for rule in (
        AlarmRule(CallKind.PULL_NOW, (_P1_S, None, None), insists=True),
        AlarmRule(CallKind.OVER, (_P1_S, None, None), insists=True),
        AlarmRule(CallKind.PROBE_LOST, (_P1_S, 30.0, None)),
        AlarmRule(CallKind.PROBE_WRONG, (_P1_S, 15.0, None)),
        AlarmRule(CallKind.UNHEARD, (_P1_S, 15.0, None), on_s=10.0),
        AlarmRule(CallKind.FORECAST_SHAKY, (_P1_S, None, None)),
        AlarmRule(CallKind.SPOT_DUE, (_P1_S, None, None)),
        AlarmRule(CallKind.FIRE_LOW, (_P1_S, 60.0, 60.0)),
        AlarmRule(CallKind.FIRE_HIGH, (_P1_S, 60.0, 60.0)),
        AlarmRule(CallKind.REST_DONE, (_P1_S, None, None)),
        AlarmRule(CallKind.PLAN_STEP, (_P1_S, 60.0, 60.0), on_s=5.0),
        AlarmRule(CallKind.WINDOW, (_P1_S, 60.0, None), insists=True),
        AlarmRule(CallKind.RECORDER_TROUBLE, (_P1_S, None, None)),
        AlarmRule(CallKind.CLOCK_JUMPED, (_P1_S, None, None)),
        AlarmRule(CallKind.CLOCK_UNSET, (_P1_S, None, None)),
        AlarmRule(CallKind.BATTERY_LOW, (_P1_S, None, None)),
    )
}
#: Of one steak's alarms only the first of these sounds; those after it add nothing to do.
OVERRULES = (
    CallKind.OVER,
    CallKind.PULL_NOW,
    CallKind.PROBE_LOST,
    CallKind.PROBE_WRONG,
    CallKind.FORECAST_SHAKY,
    CallKind.SPOT_DUE,
)
CALL_PRIORITY = {
    CallKind.PULL_SOON: 1,
    CallKind.PULL_HOLD: 2,
    CallKind.TURN: 2,
    CallKind.FLIP: 2,
}
#: Notices of the surroundings, all of priority 3.
NOTICES = {
    Fault.RECORDER: CallKind.RECORDER_TROUBLE,
    Fault.DISK: CallKind.RECORDER_TROUBLE,
    Fault.CLOCK: CallKind.CLOCK_JUMPED,
    Fault.UNSET: CallKind.CLOCK_UNSET,
    Fault.BATTERY: CallKind.BATTERY_LOW,
}
