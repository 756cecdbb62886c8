"""Scripts of faults, in any order."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from tests.sources.bluetooth.faults.air import ADVERT, FORGERS, LEFT, TWIN
from tests.sources.bluetooth.faults.trial import Step

_ALL = st.sampled_from((LEFT, TWIN, ADVERT))
_LINKED = st.sampled_from((LEFT, TWIN))
_ON = st.booleans()
_SOME = st.integers(1, 4)
#: None of these is a measurement: cut off, of nothing, "no reading", or out of any range.
_MALFORMED = {
    LEFT: ("", "00", "0001", "00ffff7f00", "00ffffff7f", "02000000fe"),
    TWIN: ("", "01", "0080", "ff7f01"),
    ADVERT: ("", "40", "4002", "400201", "20000102ca09", "4005", "40020080", "41aabbccdd"),
}


def _step(act: str, *arguments: Any) -> st.SearchStrategy[Step]:
    given = [a if isinstance(a, st.SearchStrategy) else st.just(a) for a in arguments]
    pauses = st.sampled_from((0.0, 0.02, 0.15, 0.7))
    return st.builds(Step, st.just(act), st.tuples(*given), pauses)


def _malformed() -> st.SearchStrategy[Step]:
    return st.sampled_from([(a, bytes.fromhex(p)) for a, ps in _MALFORMED.items() for p in ps]).map(
        lambda sent: Step("send_packet", sent, 0.02)
    )


_OF_A_PROBE = st.one_of(
    _step("drop", _LINKED),
    _step("silence", _ALL, _ON),
    _step("hang_connect", _LINKED, _ON),
    _step("hang_services", _LINKED, _ON),
    _step("in_progress", _LINKED, _SOME),
    _step("abort", _LINKED, _SOME),
    _step("vanish", _ALL),
    _step("come_back", _ALL),
    _step("repeat", _ALL),
    _step("replay", ADVERT, st.integers(1, 40)),
    _step("count_anew", ADVERT),
    _step("set_battery", _ALL, st.sampled_from((0, 87))),
    _step("swap_channels", TWIN),
    _step("swap_names", LEFT, TWIN),
    _malformed(),
)
_OF_OTHERS = st.one_of(
    _step("forger_comes", st.sampled_from(sorted(FORGERS))),
    _step("forger_leaves", st.sampled_from(sorted(FORGERS))),
    _step("held_by_another", _ALL),
    _step("second_program", st.sampled_from(("Disconnect", "RemoveDevice")), _LINKED),
    _step("second_program", st.sampled_from(("StartDiscovery", "StopDiscovery"))),
)
_OF_THE_RADIO = st.one_of(
    _step("filter_repeats", _ON),
    _step("hold_repeats", _ON),
    _step("deafen"),
    _step("adapter_off"),
    _step("adapter_on"),
    _step("adapter_remove"),
    _step("adapter_add"),
    _step("service_stops", _ON),
    _step("service_starts"),
    _step("hang", _ON),
    _step("bus_stops"),
    _step("bus_starts"),
    _step("look"),
)
STEPS = st.one_of(_OF_A_PROBE, _OF_OTHERS, _OF_THE_RADIO)
SCRIPTS = st.lists(STEPS, min_size=1, max_size=12)
