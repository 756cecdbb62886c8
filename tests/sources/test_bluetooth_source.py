"""The collector against a virtual adapter in another process, through unmodified bleak."""

from __future__ import annotations

import gc
import sys
from asyncio.subprocess import PIPE
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from pullcall.clock import RealClock
from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.probes import Standard
from pullcall.simulators.bluetooth.process import adapter_process
from pullcall.sources.bluetooth import BluetoothOptions, BluetoothSource
from pullcall.sources.layout import Layout, load_layout
from pullcall.sources.sink import AdapterState, LinkState
from tests.process import running
from tests.sources.collector import (
    ADVERT,
    BTHOME,
    HEALTH,
    LEFT,
    PAIR,
    QUICK,
    TWIN,
    Collector,
    site,
)
from tests.tools import require_tool

pytestmark = pytest.mark.integration


@pytest.fixture(autouse=True, scope="module")
def collected() -> Iterator[None]:
    """Collect what the loops of these tests left behind once all of them are closed.

    bleak may write to a bus that has just died and leave the error in a future; asyncio tells
    of it when the future is collected, which must not happen while Python parses something
    (CPython 3.11 then stops with "AST constructor recursion depth mismatch").
    """
    yield
    gc.collect()


async def test_two_standards_stream_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    async with site(monkeypatch, [HEALTH, PAIR, BTHOME]) as here:
        await here.control.feed([(LEFT, "1", 54.3), (TWIN, "a", 41.25), (TWIN, "b", -5.5)])
        await here.control.set(ADVERT, "1", 20.55)
        expected = {f"{LEFT}/1": 54.3, f"{TWIN}/1": 41.25, f"{TWIN}/2": -5.5, f"{ADVERT}/1": 20.55}
        await here.until(lambda: {c: here.readings.last(c) for c in expected} == expected)
        await here.until(lambda: all(p.battery_percent == 87 for p in here.source.probes()))
        assert [p.channel for p in here.source.probes()] == sorted(expected)
        # Repeated adverts were asked for, or a slow change would be held back.
        assert (await here.control.state())["duplicates"]
        assert here.adapter() is AdapterState.OK


async def test_a_channel_without_a_reading_says_so_and_keeps_its_link(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async with site(monkeypatch, [PAIR]) as here:
        await here.until_streaming(f"{TWIN}/1", f"{TWIN}/2")
        await here.control.set(TWIN, "b", None)
        await here.until(lambda: "check its plug" in here.status(f"{TWIN}/2").note)
        await here.until_streaming(f"{TWIN}/1")
        assert here.is_in(f"{TWIN}/2", LinkState.STREAMING)
        assert await here.links(TWIN) == 1


async def test_a_dropped_link_is_made_again(monkeypatch: pytest.MonkeyPatch) -> None:
    async with site(monkeypatch, [HEALTH]) as here:
        await here.until_streaming(f"{LEFT}/1")
        await here.control.drop(LEFT)
        await here.until(lambda: not here.is_in(f"{LEFT}/1", LinkState.STREAMING))
        await here.until_streaming(f"{LEFT}/1")
        assert await here.links(LEFT) == 2


async def test_a_probe_that_was_away_is_used_once_it_is_heard_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async with site(monkeypatch, [HEALTH, PAIR]) as here:
        await here.until_streaming(f"{LEFT}/1", f"{TWIN}/1")
        await here.control.vanish(LEFT)
        await here.until(lambda: here.is_in(f"{LEFT}/1", LinkState.LOST))
        await here.until_streaming(f"{TWIN}/1")
        await here.control.come_back(LEFT)
        await here.until_streaming(f"{LEFT}/1", f"{TWIN}/1")


async def test_silence_is_shown_as_stale_and_then_ends_the_link(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async with site(monkeypatch, [HEALTH]) as here:
        await here.until_streaming(f"{LEFT}/1")
        await here.control.silence(LEFT)
        await here.until(lambda: here.is_in(f"{LEFT}/1", LinkState.STALE))
        assert await here.links(LEFT) == 1
        await here.until(lambda: not here.is_in(f"{LEFT}/1", LinkState.STALE))
        await here.control.silence(LEFT, on=False)
        await here.until_streaming(f"{LEFT}/1")
        assert await here.links(LEFT) >= 2


async def test_refused_connects_are_tried_again(monkeypatch: pytest.MonkeyPatch) -> None:
    async def prepare(control: Control) -> None:
        await control.in_progress(LEFT, times=3)
        await control.abort(TWIN, times=2)

    async with site(monkeypatch, [HEALTH, PAIR], prepare=prepare) as here:
        await here.until_streaming(f"{LEFT}/1", f"{TWIN}/1")


async def test_a_radio_that_tells_of_an_advert_once_does_not_keep_a_refused_probe_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async def prepare(control: Control) -> None:
        await control.hold_repeats()
        await control.in_progress(LEFT)

    async with site(monkeypatch, [HEALTH], prepare=prepare) as here:
        await here.until_streaming(f"{LEFT}/1")


async def test_an_advert_probe_that_bluetooth_cannot_hear_says_so(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async with site(monkeypatch, [BTHOME]) as here:
        await here.until_streaming(f"{ADVERT}/1")
        await here.control.adapter_off()
        await here.until(lambda: here.is_in(f"{ADVERT}/1", LinkState.STALE))
        assert "Bluetooth went away" in here.status(f"{ADVERT}/1").note
        await here.control.adapter_on()
        await here.until_streaming(f"{ADVERT}/1")
        assert here.status(f"{ADVERT}/1").note == ""


async def test_exchanged_sensors_are_labelled_anew_and_a_battery_at_zero_is_shown(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async with site(monkeypatch, [PAIR]) as here:
        await here.control.feed([(TWIN, "a", 41.25), (TWIN, "b", 55.5)])
        await here.until(lambda: here.status(f"{TWIN}/1").name == "Twin (Probe a)")
        await here.control.swap_channels(TWIN)
        await here.control.set_battery(TWIN, 0)
        await here.control.drop(TWIN)
        await here.until(lambda: here.status(f"{TWIN}/1").name == "Twin (Probe b)")
        await here.until(lambda: here.readings.last(f"{TWIN}/1") == 55.5)
        await here.until(lambda: here.status(f"{TWIN}/1").battery_percent == 0)


async def test_a_hanging_connect_does_not_keep_the_other_probe_waiting(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async def prepare(control: Control) -> None:
        await control.hang_connect(LEFT)

    async with site(monkeypatch, [HEALTH, PAIR], prepare=prepare) as here:
        await here.until_streaming(f"{TWIN}/1")
        await here.until(lambda: here.status(f"{LEFT}/1").attempts >= 2)
        assert "did not answer in time" in here.status(f"{LEFT}/1").note
        await here.control.hang_connect(LEFT, on=False)
        await here.until_streaming(f"{LEFT}/1", f"{TWIN}/1")


async def test_a_killed_bluetooth_service_is_noticed_and_recovered_from(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async with site(monkeypatch, [HEALTH, PAIR, BTHOME]) as here:
        channels = (f"{LEFT}/1", f"{TWIN}/2", f"{ADVERT}/1")
        await here.until_streaming(*channels)
        await here.control.bluetoothd_stop(tidy=False)
        await here.until(lambda: here.adapter() is AdapterState.MISSING)
        await here.control.bluetoothd_start()
        await here.until_streaming(*channels)
        assert here.adapter() is AdapterState.RESTARTED


async def test_an_adapter_that_was_missing_is_used_once_it_is_there(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async with site(monkeypatch, [HEALTH], prepare=Control.adapter_remove) as here:
        await here.until(lambda: here.adapter() is AdapterState.MISSING)
        status = here.source.adapter()
        assert status is not None
        assert "plug one in" in status.note
        await here.control.adapter_add()
        await here.until_streaming(f"{LEFT}/1")
        assert here.adapter() is AdapterState.OK


async def test_an_adapter_switched_off_and_on_is_used_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async with site(monkeypatch, [HEALTH]) as here:
        await here.until_streaming(f"{LEFT}/1")
        await here.control.adapter_off()
        await here.until(lambda: here.adapter() is AdapterState.OFF)
        await here.control.adapter_on()
        await here.until_streaming(f"{LEFT}/1")


async def test_an_orphan_link_is_adopted_at_the_start(monkeypatch: pytest.MonkeyPatch) -> None:
    async def prepare(control: Control) -> None:
        await control.orphan(LEFT)

    async with site(monkeypatch, [HEALTH], prepare=prepare) as here:
        await here.until_streaming(f"{LEFT}/1")
        seen = (await here.control.state())["probes"][LEFT]
        assert seen["connects"] == 0


async def test_the_end_of_the_collector_frees_every_probe(monkeypatch: pytest.MonkeyPatch) -> None:
    async with site(monkeypatch, [HEALTH, PAIR]) as here:
        await here.until_streaming(f"{LEFT}/1", f"{TWIN}/1")
        await here.stop()
        state = await here.control.state()
        assert not any(probe["connected"] for probe in state["probes"].values())
        assert not state["scanning"]


async def test_a_repeated_advert_goes_stale(monkeypatch: pytest.MonkeyPatch) -> None:
    async with site(monkeypatch, [BTHOME]) as here:
        await here.until_streaming(f"{ADVERT}/1")
        await here.control.silence(ADVERT)
        await here.until(lambda: here.is_in(f"{ADVERT}/1", LinkState.STALE))
        count = here.readings.count(f"{ADVERT}/1")
        await here.until(lambda: here.is_in(f"{ADVERT}/1", LinkState.LOST))
        assert here.readings.count(f"{ADVERT}/1") == count
        await here.control.silence(ADVERT, on=False)
        await here.until_streaming(f"{ADVERT}/1")


async def test_rubbish_is_counted_and_the_stream_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    async with site(monkeypatch, [HEALTH, BTHOME]) as here:
        await here.until_streaming(f"{LEFT}/1", f"{ADVERT}/1")
        await here.control.send_packet(LEFT, b"\x00\x01")
        await here.control.send_packet(ADVERT, b"\x40\x02\x01")
        await here.until(lambda: all(p.refused >= 1 for p in here.source.probes()))
        await here.until_streaming(f"{LEFT}/1", f"{ADVERT}/1")


async def test_an_encrypted_advert_is_read_with_its_key(monkeypatch: pytest.MonkeyPatch) -> None:
    key = "231d39c1d7cc1ab1aee224cd096db932"
    options = BluetoothOptions(bthome_keys={ADVERT: bytes.fromhex(key)})
    async with site(monkeypatch, [replace(BTHOME, key=key)], options) as here:
        await here.control.set(ADVERT, "1", 61.25)
        await here.until(lambda: here.readings.last(f"{ADVERT}/1") == 61.25)


async def test_only_the_devices_allowed_are_connected(monkeypatch: pytest.MonkeyPatch) -> None:
    async with site(monkeypatch, [HEALTH, PAIR], BluetoothOptions(only=(TWIN,))) as here:
        await here.until_streaming(f"{TWIN}/1")
        assert {p.device for p in here.source.probes()} == {TWIN}
        assert await here.links(LEFT) == 0


async def test_a_layout_reads_a_device_of_no_standard(monkeypatch: pytest.MonkeyPatch) -> None:
    layout = load_layout(Path(__file__).parents[2] / "config" / "layouts" / "twin-prong.toml")
    device = replace(PAIR, name="Twin Prong 7", standard=Standard.DECLARED)
    async with site(monkeypatch, [device], BluetoothOptions(layouts=(layout,))) as here:
        await here.control.feed([(TWIN, "a", 54.3), (TWIN, "b", None)])
        await here.until(lambda: here.readings.last(f"{TWIN}/1") == pytest.approx(54.3))
        await here.until(lambda: "check its plug" in here.status(f"{TWIN}/2").note)
        assert here.status(f"{TWIN}/1").standard == "twin prong"


async def test_the_loss_of_the_message_bus_itself_is_survived(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    require_tool("dbus-daemon", "dbus")
    here = Collector(BluetoothSource(BluetoothOptions(timings=QUICK), RealClock()))
    async with adapter_process([HEALTH]) as adapter:
        monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", adapter.bus)
        here.start()
        await here.until_streaming(f"{LEFT}/1")
    await here.until(lambda: here.adapter() is AdapterState.MISSING)
    async with adapter_process([HEALTH]) as adapter:
        monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", adapter.bus)
        await here.until_streaming(f"{LEFT}/1")
        await here.stop()


async def test_the_list_of_probes_shows_what_streams(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    config = tmp_path / "pullcall.toml"
    config.write_text(f'[[steak]]\nname = "ribeye"\nprobe = "{TWIN}/2"\n', encoding="utf-8")
    command = (
        "import argparse; from pullcall.cli import probes; parser = argparse.ArgumentParser(); "
        "probes.add(parser.add_subparsers()); args = parser.parse_args(); "
        "raise SystemExit(args.run(args))"
    )
    async with site(monkeypatch, [PAIR]) as here:
        await here.stop()
        await here.control.feed([(TWIN, "a", 54.34), (TWIN, "b", 20.0)])
        asked = (sys.executable, "-c", command, "probes", "--once", "2", "--config", str(config))
        async with running(*asked, stdout=PIPE) as listing:
            said = (await listing.communicate())[0].decode()
    assert listing.returncode == 0, said
    first, second = (line for line in said.splitlines() if line.startswith(TWIN))
    assert "129.8 F / 54.3 C" in first
    assert "streaming" in first
    assert "ribeye" in second
    assert f'probe = "{TWIN}/1"' in said


async def test_without_a_message_bus_it_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", "unix:path=/nowhere/bus")
    here = Collector(BluetoothSource(BluetoothOptions(timings=QUICK), RealClock()))
    here.start()
    await here.until(lambda: here.adapter() is AdapterState.MISSING)
    assert "sudo apt install bluez" in getattr(here.source.adapter(), "note", "")
    await here.stop()


async def test_a_missing_characteristic_is_sought_anew_once_and_then_named(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    layout = Layout.model_validate(
        {
            "name": "other",
            "device": {"name": "Left"},
            "where": {"characteristic": "fff1"},
            "field": [{"channel": 1, "offset": 0, "type": "u8", "range": [0, 100]}],
        }
    )
    async with site(monkeypatch, [HEALTH], BluetoothOptions(layouts=(layout,))) as here:
        await here.until(lambda: here.status(f"{LEFT}/1").note.endswith("; looking again"))
        await here.until(lambda: not here.status(f"{LEFT}/1").note.endswith("; looking again"))
        note = here.status(f"{LEFT}/1").note
        assert note == "no 0000fff1-0000-1000-8000-00805f9b34fb; found 2a19, 2a1c, 2a1e"
        # Once as found, once more after the service was made to forget it.
        assert await here.links(LEFT) == 2
