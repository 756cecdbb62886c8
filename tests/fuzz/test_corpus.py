"""What an attack once reached or broke is read as it should be, and so are a few new inputs."""

from __future__ import annotations

import logging
import warnings
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from tests.fuzz.choose import MOST_BYTES, MOST_FILES, choose
from tests.fuzz.made_up import inputs
from tests.fuzz.target import corpus_of, inputs_of, load, names

#: New inputs of each target; a run of `make fuzz` makes some hundred thousand.
_EXAMPLES = 40


@pytest.fixture(autouse=True)
def nothing_is_told() -> Iterator[None]:
    """Refusals are logged, and forecasts of nonsense warn: neither is what is looked at here."""
    logging.disable(logging.WARNING)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield
    logging.disable(logging.NOTSET)


@pytest.mark.parametrize("name", names())
def test_every_input_that_was_kept_is_read_as_it_should_be(name: str) -> None:
    target = load(name)
    for data in inputs_of(name, target):
        target.check(data)


@pytest.mark.parametrize("name", names())
def test_some_new_inputs_are_read_as_they_should_be(name: str) -> None:
    target = load(name)

    @settings(
        max_examples=_EXAMPLES,
        database=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(inputs(name, target))
    def read(data: bytes) -> None:
        target.check(data)

    read()


@pytest.mark.parametrize("name", names())
def test_a_corpus_is_small(name: str) -> None:
    files = corpus_of(name)
    assert 1 <= len(files) <= MOST_FILES
    assert all(path.stat().st_size <= MOST_BYTES for path in files)


def test_what_is_kept_reaches_what_all_inputs_reach() -> None:
    target = load("battery")
    chosen = choose(target.check, [b"\x50", b"\x51", b"\xff", b"", b"\x50\x50"])
    assert sorted(chosen) == [b"", b"P", b"\xff"]
