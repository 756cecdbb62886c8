"""What ought to be an alarm this second, from the surroundings of the steaks: the fire, the plan,
the turn-in window, and the faults around the cook."""

from __future__ import annotations

from collections.abc import Iterator

from pullcall.calls import text
from pullcall.calls.alarm import Cause
from pullcall.calls.rules import (
    CLOSES_NOW_S,
    CLOSES_SOON_S,
    NOTICES,
    STEP_PRESSES_S,
)
from pullcall.calls.scene import Scene
from pullcall.core.phase import Phase
from pullcall.events import CallKind, Fault
from pullcall.fire.state import FireState
from pullcall.fire.watch import FireWatch


def fire_causes(scene: Scene, watch: FireWatch) -> Iterator[Cause]:
    """A fire out of its bounds: pressing before the steaks go on, less so after."""
    if not any(scene.in_phase(Phase.WAITING, Phase.ON)):
        return
    priority = 3 if any(scene.in_phase(Phase.ON)) else 2
    if watch.is_low:
        yield Cause(CallKind.FIRE_LOW, "", priority, text.fire_low())
    elif watch.is_high:
        yield Cause(CallKind.FIRE_HIGH, "", priority, text.fire_high())


def fault_causes(scene: Scene, pull_is_near: bool) -> Iterator[Cause]:
    """Nobody hears the calls; and notices of the machine. The time of day matters only to a
    turn-in window."""
    for fault, detail in scene.faults:
        if fault is Fault.UNHEARD:
            if any(scene.in_phase(Phase.ON, Phase.RESTING, Phase.BOXED)):
                priority = 1 if pull_is_near else 2
                yield Cause(CallKind.UNHEARD, "", priority, text.unheard())
        elif fault is not Fault.UNSET or detail or scene.window is not None:
            yield Cause(NOTICES[fault], detail or str(fault), 3, text.notice(fault, detail))


def step_causes(scene: Scene) -> Iterator[Cause]:
    """Steps of the plan that ought to begin now, while anything can still be handed in.

    Nobody is asked to put a steak on a grate that is known to be cold, nor once one is boxed.
    """
    if scene.window is None or scene.now > scene.window[1] or any(scene.in_phase(Phase.HANDED_IN)):
        return
    is_cold = scene.fire is not None and scene.fire.state in (FireState.HEATING, FireState.LOW)
    no_more_on = is_cold or any(scene.in_phase(Phase.BOXED))
    for step in scene.plan.steps if scene.plan else ():
        if step.name == "cook" and no_more_on:
            continue
        words = text.plan_step(step.name, step.steak)
        if words is None or step.done_t is not None or scene.now < step.recommended_t:
            continue
        presses = scene.now >= step.latest_t - STEP_PRESSES_S
        of = f"{step.name} {step.steak}" if step.steak else step.name
        steaks = (step.steak,) if step.steak else ()
        yield Cause(CallKind.PLAN_STEP, of, 2 if presses else 3, words, steaks)


def window_causes(scene: Scene) -> Iterator[Cause]:
    """The turn-in window: open, closing soon, closing now; over once one is handed in."""
    if scene.window is None or any(scene.in_phase(Phase.HANDED_IN)):
        return
    if not any(scene.in_phase(Phase.ON, Phase.RESTING, Phase.BOXED)):
        return
    opens, closes = scene.window
    left = closes - scene.now
    if left <= 0.0:
        yield Cause(CallKind.WINDOW, "closed", 3, text.window_closed())
    elif left <= CLOSES_SOON_S:
        priority = 1 if left <= CLOSES_NOW_S else 2
        yield Cause(CallKind.WINDOW, "closes", priority, text.window_closes(left))
    elif scene.now >= opens:
        yield Cause(CallKind.WINDOW, "opens", 3, text.window_open())
