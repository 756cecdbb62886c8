"""Errors in words, and calls that may hang."""

import asyncio

import pytest
from bleak.exc import BleakDBusError, BleakDeviceNotFoundError, BleakError

from pullcall.sources.bluetooth.why import Strays, why


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (BleakDBusError("org.bluez.Error.InProgress", []), "another connection is being made"),
        (
            BleakDBusError("org.bluez.Error.Failed", ["le-connection-abort-by-local"]),
            "radio interference",
        ),
        (BleakDeviceNotFoundError("AA", "gone"), "out of reach"),
        (TimeoutError(), "did not answer in time"),
        (BleakError("Insufficient Authentication"), "bluetoothctl pair AA"),
        (KeyError("Alias"), "connecting failed (KeyError: 'Alias')"),
    ],
)
def test_an_error_is_said_in_words(error: Exception, words: str) -> None:
    assert words in why(error, "AA")


async def test_a_call_in_time_returns_its_result() -> None:
    async def quick() -> int:
        return 7

    assert await Strays().within(5.0, quick()) == 7


async def test_an_error_of_the_call_is_passed_on() -> None:
    async def broken() -> None:
        raise BleakError("no")

    with pytest.raises(BleakError):
        await Strays().within(5.0, broken())


async def test_a_call_that_ignores_its_cancellation_is_left_behind() -> None:
    ended = asyncio.Event()

    async def stubborn() -> None:
        try:
            await asyncio.Event().wait()
        except asyncio.CancelledError:
            await ended.wait()

    strays = Strays()
    with pytest.raises(TimeoutError):
        await strays.within(0.01, stubborn())
    ended.set()
    await strays.settle(5.0)


async def test_what_a_call_had_begun_is_undone_before_it_is_given_up() -> None:
    undone = False

    async def half_made() -> None:
        nonlocal undone
        try:
            await asyncio.Event().wait()
        finally:
            for _ in range(50):
                await asyncio.sleep(0)
            undone = True

    with pytest.raises(TimeoutError):
        await Strays().within(0.01, half_made())
    assert undone
