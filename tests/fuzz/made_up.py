"""Inputs as hypothesis makes them: seeds cut, joined, and with hostile words put in."""

from __future__ import annotations

from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy

from tests.fuzz.target import HOSTILE, Target, inputs_of

_MOST_CHANGES = 4


def inputs(name: str, target: Target) -> SearchStrategy[bytes]:
    """Inputs to a target, no longer than it takes."""
    parts = st.sampled_from([*HOSTILE, *target.words]) | st.binary(max_size=8)
    begun = st.sampled_from(inputs_of(name, target)) | st.binary(max_size=64)
    change = st.tuples(st.floats(0, 1), st.floats(0, 1), parts)
    changes = st.lists(change, max_size=_MOST_CHANGES)
    return st.builds(_changed, begun, changes).map(lambda data: data[: target.longest])


def _changed(data: bytes, changes: list[tuple[float, float, bytes]]) -> bytes:
    """Each change puts a part in place of a stretch."""
    for at, length, part in changes:
        begin = round(at * len(data))
        end = begin + round(length * length * (len(data) - begin))
        data = data[:begin] + part + data[end:]
    return data
