"""What would fail if the steaks went on now: a short list, each line green or with advice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from pullcall.bus.status import BusState, BusStatus
from pullcall.core.cook import Cook
from pullcall.core.steak import SteakState
from pullcall.events import Fault, FireSettings
from pullcall.fire.fire import FireReport
from pullcall.fire.state import FireState
from pullcall.sources.sink import LinkState, ProbeStatus, Way
from pullcall.supervision import Trouble

#: More parts in trouble, or more that was left out, say no more: a list on a phone has an end.
_MOST_PARTS, _MOST_LEFT_OUT = 4, 3


@dataclass(frozen=True, slots=True)
class Check:
    """One thing looked at. ``words`` says how it is, and what to do where it is not ok.

    ``celsius`` is the figure that belongs to it, for a page to show in its own unit.
    """

    name: str
    ok: bool
    words: str
    celsius: float | None = None


@dataclass(frozen=True, slots=True)
class ClockSight:
    """What is not known of the time of day ("": the time itself, "gap": how long a restart took,
    None: nothing), and by how many seconds the machine's clock is ahead of the cook's, where the
    cook has to say which is right."""

    doubt: str | None = None
    asked_s: float | None = None


@dataclass(frozen=True, slots=True)
class Around:
    """What the shell knows: whether somebody hears, how the time of day is, what of this cook
    earlier ones ``taught``, in words, how the way to the broker is (None: there is none), what
    around the calls does not go, the ways that readings come by, whether everything was begun only
    just now, whether a file can be opened, and what the cook goes on without, a sentence each."""

    is_heard: bool
    clock: ClockSight
    probes: tuple[ProbeStatus, ...]
    taught: tuple[str, ...] = ()
    broker: BusStatus | None = None
    troubles: tuple[Trouble, ...] = ()
    ways: tuple[Way, ...] = ()
    is_settling: bool = False
    has_files: bool = True
    left_out: tuple[str, ...] = ()


def readiness(cook: Cook, around: Around) -> tuple[Check, ...]:
    """Every check, in a stable order."""
    return (
        _heard(around),
        *_files(around),
        *_probes(cook, around),
        *_clock(cook, around),
        _recorder(cook),
        *_left_out(around),
        *_broker(around),
        *_parts(around),
        *_taught(around),
    )


UNHEARD = "Nobody would hear a call: tap to hear calls on a phone, or connect a speaker"


def _heard(around: Around) -> Check:
    if around.is_heard:
        return Check("heard", True, "Calls are heard")
    return Check("heard", False, UNHEARD)


_NO_FILES = "Too many connections are open: close pages that nobody needs, or restart Pullcall"


def _files(around: Around) -> Iterator[Check]:
    """Without a free one nobody new comes in, and no sound can be started."""
    if not around.has_files:
        yield Check("files", False, _NO_FILES)


def _probes(cook: Cook, around: Around) -> Iterator[Check]:
    """What keeps several of them from being heard is told once, before all that it explains."""
    cut = {channel: _cut_by(channel, around) for channel in _channels(cook)}
    for trouble in dict.fromkeys(trouble for trouble in cut.values() if trouble):
        unheard = [who for channel, who in _channels(cook).items() if cut[channel] == trouble]
        yield Check(f"probes {unheard[0]}", False, _cause(trouble, unheard))
    for steak in cook.steaks.values():
        if not cut.get(steak.settings.channel or ""):
            yield _probe(steak, around)
    if not cut.get(cook.setup.fire.channel or ""):
        yield from _fire(cook, around)


def _channels(cook: Cook) -> dict[str, str]:
    """What each channel of this cook is called."""
    grate = cook.setup.fire.channel
    steaks = {s.settings.channel: s.name for s in cook.steaks.values() if s.settings.channel}
    return steaks if grate is None else {**steaks, grate: "grate"}


def _cut_by(channel: str, around: Around) -> str:
    """Why nothing of this channel can come, as half a sentence; empty where nothing keeps it.

    One that never came may come by any way: then it is one that does not go.
    """
    if around.is_settling or _is_live(channel, around.probes):
        return ""
    own = [way for way in around.ways if channel in way.channels]
    return next((way.trouble for way in own or around.ways if way.trouble), "")


def _is_live(channel: str, probes: Iterable[ProbeStatus]) -> bool:
    return any(p.channel == channel and p.state is LinkState.STREAMING for p in probes)


def _cause(trouble: str, unheard: list[str]) -> str:
    *some, last = unheard
    names = f"{', '.join(some)} and {last} are" if some else f"{last} is"
    return f"{trouble}, so {names} not heard: see Probes, or tap in spots"


def _probe(steak: SteakState, around: Around) -> Check:
    name, channel = f"probe {steak.name}", steak.settings.channel
    who = steak.name[:1].upper() + steak.name[1:]
    if channel is None:
        return Check(name, True, f"{who}: no probe, by spots")
    if _is_live(channel, around.probes):
        return Check(name, True, f"{who}: probe live")
    if around.is_settling:
        return Check(name, False, f"{who}: its probe is being looked for")
    return Check(name, False, f"{who}: its probe is silent, wake it or tap in spots")


def _fire(cook: Cook, around: Around) -> Iterator[Check]:
    report, settings = cook.fire_report, cook.setup.fire
    if report is not None:
        yield _burning(report, settings)
    elif settings.channel is not None and around.is_settling:
        yield Check("fire", False, "Fire: the grate's probe is being looked for")
    elif settings.channel is not None:
        yield Check("fire", False, "Fire: the grate's probe is silent, check it with a spot")


def _burning(report: FireReport, settings: FireSettings) -> Check:
    celsius = report.celsius
    if report.state is FireState.STALE:
        return Check("fire", False, "Fire: not checked for a while, check the grate")
    if celsius < settings.floor_c:
        return Check("fire", False, "Fire: the grate is below its floor, wait", celsius)
    if celsius > settings.ceiling_c:
        return Check("fire", False, "Fire: the grate is above its ceiling, hold it back", celsius)
    return Check("fire", True, "Fire: the grate is hot", celsius)


def _clock(cook: Cook, around: Around) -> Iterator[Check]:
    """The time of day matters to a turn-in window, and to a restart that took nobody knows how
    long."""
    doubt, asked_s = around.clock.doubt, around.clock.asked_s
    if doubt:
        words = "Restarted without a clock: how long that took is a guess, compare it with yours"
        yield Check("clock", False, words)
    elif cook.setup.window is None:
        return
    elif doubt is not None:
        yield Check("clock", False, "Clock not set by a network: compare it with yours")
    elif asked_s is not None:
        yield Check("clock", False, f"The clock jumped {_span(asked_s)}: compare it with yours")
    else:
        yield Check("clock", True, "Clock trusted")


def _span(seconds: float) -> str:
    """How far and which way, such as "1:00 h ahead"."""
    minutes = round(abs(seconds) / 60.0)
    far = f"{minutes // 60}:{minutes % 60:02} h" if minutes >= 60 else f"{minutes} min"
    return f"{far} {'ahead' if seconds > 0 else 'back'}"


def _recorder(cook: Cook) -> Check:
    faults = {fault for fault, _ in cook.faults()}
    if Fault.RECORDER in faults:
        return Check("recorder", False, "The cook is not being recorded: check the disk")
    if Fault.DISK in faults:
        return Check("recorder", False, "The disk is nearly full: make room")
    return Check("recorder", True, "The cook is being recorded")


def _left_out(around: Around) -> Iterator[Check]:
    """The latest: it is told for as long as the cook runs, for its forecasts lack it."""
    count = len(around.left_out)
    for number, words in enumerate(around.left_out, start=1):
        if number > count - _MOST_LEFT_OUT:
            yield Check(f"left out {number}", False, words)


def _broker(around: Around) -> Iterator[Check]:
    """Boards are blind without it; nothing of the cook depends on it."""
    if around.broker is None:
        return
    if around.broker.state is BusState.OK:
        yield Check("broker", True, "Boards see this cook")
    elif around.is_settling:
        yield Check("broker", False, "Boards do not see this cook yet: the broker is being sought")
    else:
        yield Check("broker", False, "Boards do not see this cook: the broker is not reached")


def _parts(around: Around) -> Iterator[Check]:
    """The calls go on without it, but somebody may have to act."""
    for trouble in around.troubles[:_MOST_PARTS]:
        yield Check(f"part {trouble.part}", False, trouble.note.removesuffix("."))


def _taught(around: Around) -> Iterator[Check]:
    if around.taught:
        yield Check("taught", True, f"From your cooks: {', '.join(around.taught)}")
