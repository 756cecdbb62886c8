"""What is said of a mistake: its own kind, whatever it came wrapped in."""

from __future__ import annotations

import logging

import pytest

from pullcall.mistakes import Mistakes, cause_of, name_of


def test_the_cause_of_a_group_is_its_first_error_however_deep() -> None:
    cause = KeyError("k")
    group = ExceptionGroup("outer", [ExceptionGroup("inner", [cause]), ValueError("v")])
    assert cause_of(group) is cause
    assert cause_of(cause) is cause
    assert name_of(group) == "KeyError"


def test_each_kind_of_mistake_goes_into_the_journal_once(caplog: pytest.LogCaptureFixture) -> None:
    mistakes = Mistakes(logging.getLogger("test"), "It has a mistake in it.")
    faults = [fault_of(mistakes, error) for error in (KeyError("k"), KeyError("k"), OSError())]
    assert faults == [
        f"was stopped by a mistake ({kind})" for kind in (*2 * ["KeyError"], "OSError")
    ]
    assert [bool(record.exc_info) for record in caplog.records] == [True, True]


def fault_of(mistakes: Mistakes, error: Exception) -> str:
    try:
        raise error
    except Exception as raised:
        return mistakes.fault(raised)
