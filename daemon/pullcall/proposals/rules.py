"""Every figure that decides what is proposed, in one place. Measured in docs/proposals.md."""

from __future__ import annotations

# The readings looked at ---------------------------------------------------------------------
#: One point each two seconds, spikes taken out: the slowest probes are no faster.
POINT_S = 2.0
#: A thick steak tells that it went on only after more than three minutes; seconds kept.
KEPT_S = 300.0

# On -----------------------------------------------------------------------------------------
#: A cold steak's probe rises past these, kelvin above the quiet level before. The first lies
#: clear of noise and a 1 F step; the last shows that the rise is getting faster.
ON_RISES_C = (0.6, 2.0, 3.4)
#: The core answers after a lag that scales as the time between the first two: on was this many
#: of these before the second. Fitted on half of the sample cooks.
ON_LAG = 3.4
#: Faster than this is a probe in a hand or in air, slower a steak warming on a table, seconds
#: between the first two.
ON_FASTEST_S, ON_SLOWEST_S = 8.0, 75.0
#: A straight drift takes as long from second to third as from first to second, meat less.
ON_GATHERS = 0.9
#: A steak that waits is not warmer than this, Celsius.
ON_COLDEST_C = 30.0
#: The quiet level is the lowest mean over this long, seconds, and at the moment of going on the
#: probe was within this of it, kelvin.
ON_QUIET_S, ON_QUIET_C = 16.0, 0.5
#: Readings are averaged over this long for the rises, seconds.
ON_MEAN_S = 10.0

# Off: the probe left the meat ---------------------------------------------------------------
#: The probe fell this far within about half a minute; the deepest slip inside meat that the
#: sample cooks show is 8 C.
LEFT_FALL_C = 12.0
#: ... and so far, down to where no part of a steak near its pull can be, for so long that neither
#: a slip nor a probe pulled out and put back explains it: then time may confirm it.
LEFT_SURE_FALL_C, LEFT_SURE_BELOW_C, LEFT_SURE_S = 20.0, 30.0, 20.0
#: The level before is that of this far back, seconds, from the first to the second.
LEFT_BEFORE_S = (40.0, 14.0)
#: Only a steak this near its pull comes off, kelvin below the pull temperature.
LEFT_NEAR_C = 5.0
#: A reading that climbs back this far from the lowest is in meat again, kelvin.
LEFT_BACK_C = 5.0
#: What left the meat for air goes through the middle of the fall: points seen there. A broken
#: wire goes at once.
LEFT_ON_THE_WAY = 2
#: Time to say otherwise once it is sure, seconds.
CONFIRM_S = 30.0

# Off: the rise bends down -------------------------------------------------------------------
#: The rise is taken over this long, seconds, and compared with the median rise from this long ago
#: to this long ago, which was at least this, kelvin per minute.
BEND_SLOPE_S, BEND_BACK_S, BEND_WITHIN_S = 40.0, 180.0, 50.0
BEND_STEADY_C_PER_MIN = 1.5
#: It has bent when it is this share of that, and smaller by this, kelvin per minute: a slow rise
#: of a coarse probe wavers by most of its size.
BEND_SHARE, BEND_DROP_C_PER_MIN = 0.4, 1.8
#: A bend told later than this, seconds, has to have ended in a peak: a rise no more than this,
#: kelvin per minute. A rise can also bend for good and go on.
BEND_FRESH_S, BEND_PEAKED_C_PER_MIN = 30.0, 0.3
#: A step this high within about ten seconds is the probe moving: no core changes so fast, kelvin.
BEND_STEP_C = 1.7
#: A flip bends the rise of a probe off the middle just so: nothing is said this long after one,
#: made or planned, seconds. At 160 s such bends were taken for off before it.
BEND_AFTER_FLIP_S = 240.0
#: Only a steak this near its pull comes off, kelvin below the pull temperature.
BEND_NEAR_C = 3.0
#: The bend shows this long after off, seconds: half the window of the rise, and conduction's lag,
#: which goes with the square of the thickness, seconds per square millimetre. Fitted on half of
#: the sample cooks; 96 s for 32 mm.
BEND_LAG_S, BEND_LAG_S_PER_MM2 = 20.0, 0.074
#: After off a rise only falls; one that grew by this from its least, kelvin per minute, was
#: bent by something else. Two deviations of the rise that a 1 F probe shows.
BEND_GROWS_C_PER_MIN = 1.0

# Flip ---------------------------------------------------------------------------------------
#: A mark of the same kind within this of the planned time is that act, seconds.
SAME_ACT_S = 60.0

# Lid ----------------------------------------------------------------------------------------
#: The grate's reading falls this far, kelvin, in this long, seconds.
LID_FALL_C, LID_FALL_S = 30.0, 20.0
#: The fall begins where the reading is still within this share of it from the top.
LID_EDGE = 0.2
#: It is shut again when this share of the fall is made up.
LID_RECOVERED = 0.6

# All ----------------------------------------------------------------------------------------
#: A proposal nobody answers goes away after this long, seconds.
STANDS_S = 120.0
#: The same is not proposed again within this long of the moment proposed before, seconds.
REPEAT_S = 90.0
