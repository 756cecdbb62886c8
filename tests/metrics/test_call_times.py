"""How long calls take to be announced and heard."""

from __future__ import annotations

from dataclasses import replace

from pullcall.events import Call, CallKind
from pullcall.metrics.call_times import CallTimes
from pullcall.outlets.outlet import Report

CALL = Call(60.0, "3", ("left",), CallKind.PULL_NOW, 0.0, 1, "Left: pull now")


def announced() -> CallTimes:
    """The call was due at 1000 and announced a tenth of a second later."""
    times = CallTimes()
    times.announces(CALL, 1000.0, 1000.1)
    return times


def played(by: str, at: float, call: Call = CALL) -> Report:
    return Report(call, by, True, at)


def test_an_announcement_is_counted_by_its_kind_with_its_delay() -> None:
    times = announced()
    assert times.counts[CallKind.PULL_NOW] == 1
    assert sum(times.counts.values()) == 1
    assert round(times.announced.total, 6) == 0.1


def test_the_first_receipt_of_each_outlet_counts_from_when_it_was_due() -> None:
    times = announced()
    for report in (played("phones", 1000.4), played("phones", 1002.0), played("loudspeaker", 1001)):
        times.reported(report)
    delays = {str(kind): (h.count, round(h.total, 6)) for kind, h in times.heard.items()}
    assert delays == {"phones": (1, 0.4), "loudspeaker": (1, 1.0)}


def test_what_failed_or_was_only_delivered_was_not_heard() -> None:
    times = announced()
    times.reported(Report(CALL, "phones", False, 1003.0))
    times.reported(played("webhook", 1000.2))
    assert [histogram.count for histogram in times.heard.values()] == [0, 0]
    times.reported(played("phones", 1004.0))  # a phone that answers late is heard all the same
    assert [histogram.count for histogram in times.heard.values()] == [1, 0]


def test_a_repeat_is_an_announcement_of_its_own() -> None:
    times = announced()
    again = replace(CALL, t=65.0)
    times.announces(again, 1005.0, 1005.2)
    times.reported(played("phones", 1005.5, again))
    phones = times.heard[next(iter(times.heard))]
    assert round(phones.total, 6) == 0.5
    assert times.counts[CallKind.PULL_NOW] == 2


def test_a_receipt_of_the_last_cook_says_nothing_of_this_one() -> None:
    times = announced()
    times.begin_cook()
    times.reported(played("phones", 1000.4))
    assert [histogram.count for histogram in times.heard.values()] == [0, 0]


def test_calls_that_nobody_confirms_do_not_pile_up() -> None:
    times = CallTimes()
    for number in range(1000):
        times.announces(replace(CALL, id=str(number)), 0.0, 0.0)
    times.reported(played("phones", 1.0, replace(CALL, id="0")))
    times.reported(played("phones", 1.0, replace(CALL, id="999")))
    assert [histogram.count for histogram in times.heard.values()] == [1, 0]


def test_what_went_unheard_is_counted_call_by_call() -> None:
    times = announced()
    times.went_unheard((CALL, replace(CALL, id="4")))
    assert times.unheard == 2
