"""What to change when the chance falls, said only where it raises the chance, with the figure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from pullcall.events import MarkKind
from pullcall.plan.backward import Plan
from pullcall.plan.chain import Chain
from pullcall.plan.chance import SURE, Samples, share_by
from pullcall.plan.lengths import Seconds
from pullcall.plan.say import percent
from pullcall.plan.steps import label

#: What a change has to bring to be worth a word.
WORTH = 0.02
#: Steps that run by themselves after a mark of the morning.
_LONG = ("cold", "light", "heat_up")
#: What may have been done without a tap, the likeliest first.
_UNTAPPED = (
    ((MarkKind.SEASONED,), "the steaks are seasoned"),
    (
        (MarkKind.SEASONED, MarkKind.LIT, MarkKind.POURED),
        "the steaks are seasoned and the coal is poured",
    ),
)
#: Ready so much before turn-in opens is too early, seconds.
_EARLY_S = 900.0
#: The delay that "now" is held against, seconds.
_LATER_S = 120.0


def advise(samples: Samples, chain: Chain, plan: Plan) -> tuple[str, ...]:
    """Sentences for the cook; ``chain`` is the run of ``samples`` without delay."""
    if samples.now > plan.closes_t:
        return ("The window has closed.",)
    chance = share_by(chain.box(chain.first()), plan.closes_t)
    if chance < SURE:
        return (
            *_untapped(samples, plan, chance),
            *_later(samples, plan, chance),
            *_rest(samples, plan, chance),
            *_one_steak(samples, chain, plan, chance),
        )
    return (*_one_steak(samples, chain, plan, chance), *_wait(samples, chain, plan))


def _untapped(samples: Samples, plan: Plan, chance: float) -> Iterator[str]:
    """Much may have been done and not tapped: the seasoning, or all of the morning."""
    for kinds, words in _UNTAPPED:
        tapped = _if_done(samples, plan, kinds)
        if any(kind not in samples.past.done for kind in kinds) and tapped - chance >= WORTH:
            yield f"If {words} already, mark it on the page: {_instead(tapped, chance)}."
            return


def _if_done(samples: Samples, plan: Plan, kinds: tuple[MarkKind, ...]) -> float:
    """The chance if these were marked long ago."""
    long_ago = samples.now - max(samples.day.takes((name, None)).high_s for name in _LONG)
    done = {**dict.fromkeys(kinds, long_ago), **samples.past.done}
    run = Samples.draw(samples.day, replace(samples.past, done=done), samples.now).run()
    return share_by(run.box(run.first()), plan.closes_t)


def _later(samples: Samples, plan: Plan, chance: float) -> Iterator[str]:
    """Begin now what can be begun: of several, what has least slack."""
    waited = samples.run(wait_s=_LATER_S)
    later = share_by(waited.box(waited.first()), plan.closes_t)
    able = [s for s in plan.steps if s.asks and s.done_t is None and s.earliest_t <= samples.now]
    if not able or chance - later < WORTH:
        return
    step = min(able, key=lambda s: s.slack_s)
    what = label(step.name, step.steak)
    yield f"{what} now: {percent(chance)}, two minutes later {percent(later)}."


def _rest(samples: Samples, plan: Plan, chance: float) -> Iterator[str]:
    """Cut the rest to its shortest."""
    shorter = samples.with_shortest_rest()
    run = shorter.run()
    cut = share_by(run.box(run.first()), plan.closes_t)
    if cut - chance < WORTH:
        return
    key = ("rest", _earliest(run)[0])
    short, usual = (_half_minutes(s.takes_s[key]) for s in (shorter, samples))
    yield f"Rest {short:g} min instead of {usual:g}: {_instead(cut, chance)}."


def _one_steak(samples: Samples, chain: Chain, plan: Plan, chance: float) -> Iterator[str]:
    """Turn in the earlier steak."""
    names = _earliest(chain)
    if samples.past.first("off_t") is None or samples.past.first("boxed_t") is not None:
        return
    all_ = share_by(chain.box(chain.last()), plan.closes_t)
    if all_ >= SURE or chance - all_ < WORTH:
        return
    yield f"Turn in {names[0]} without waiting for {names[1]}: {_instead(chance, all_)}."


def _wait(samples: Samples, chain: Chain, plan: Plan) -> Iterator[str]:
    """Nothing is lost by waiting before the window opens, and nothing can be handed in."""
    ahead_s = plan.opens_t - float(np.median(chain.box(chain.first())))
    if samples.past.first("off_t") is None:
        if samples.past.first("on_t") is not None and ahead_s > _EARLY_S:
            waiting = [n for n in samples.day.names() if samples.past.steak(n).on_t is None]
            later = f", or put {waiting[0]} on later" if waiting else ""
            yield f"Ready {int(ahead_s // 60.0)} min before turn-in opens: a long rest{later}."
        return
    if ahead_s <= 0.0:
        return
    held = "keep the box closed" if samples.past.first("boxed_t") else "let it rest on"
    minutes = int(np.ceil((plan.opens_t - samples.now) / 60.0))
    yield f"Hand-in opens in {minutes} min: {held} until then."


def _earliest(chain: Chain) -> list[str]:
    """The steaks in the order in which they will be ready."""
    return sorted(chain.ready, key=lambda name: float(np.median(chain.ready[name])))


def _instead(new: float, old: float) -> str:
    return f"{percent(new)} instead of {percent(old)}"


def _half_minutes(lengths_s: Seconds) -> float:
    """The middle length in minutes, to half a minute."""
    return round(float(np.median(lengths_s)) / 30.0) / 2.0
