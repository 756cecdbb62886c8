"""The recogniser of probes, with names, services and data as strangers send them."""

from __future__ import annotations

from pathlib import Path

from pullcall.sources.bluetooth.options import BluetoothOptions
from pullcall.sources.bluetooth.recognise import (
    SERVICES,
    Advert,
    AdvertReader,
    full_uuid,
    recognise,
)
from pullcall.sources.decoding import Refusal
from pullcall.sources.decoding.bthome import BTHOME_SERVICE
from pullcall.sources.layout import load_layout
from pullcall.sources.layout.model import DeviceMatch, Field, Layout, Where
from pullcall.sources.layout.numbers import NumberType
from tests.fuzz.cards import Cards
from tests.fuzz.honest import check_temperature
from tests.fuzz.target import Target

_LAYOUTS = Path(__file__).parents[3] / "config" / "layouts"
_COMPANY = Layout(
    name="by company",
    device=DeviceMatch(name="*a*b*c*[d]*"),
    where=Where(manufacturer_data=0xFFFF),
    field=(Field(channel=1, offset=0, type=NumberType.FLOAT11073, unit="F", range=(-40.0, 700.0)),),
)
_OPTIONS = BluetoothOptions(
    layouts=(load_layout(_LAYOUTS / "twin-prong.toml"), _COMPANY),
    bthome_keys={"AA:BB:CC:DD:EE:01": bytes(16)},
)
_BTHOME = full_uuid(BTHOME_SERVICE)
_SERVICES = (*SERVICES, _BTHOME, "6d1b5a70-3f0e-4c86-9a1d-2f1c7e5d4b01", "", "no uuid")
_ADDRESSES = ("AA:BB:CC:DD:EE:01", "aa:bb:cc:dd:ee:02", "", "not an address", "AA:BB")


def check(data: bytes) -> None:
    """One advert."""
    cards = Cards(data)
    address, service = cards.pick(_ADDRESSES), cards.pick(_SERVICES)
    name, packet = cards.line().decode("utf-8", "replace"), cards.rest()
    advert = Advert(address, name, frozenset({service}), {_BTHOME: packet}, {0xFFFF: packet})
    how = recognise(advert, _OPTIONS)
    if how is None:
        return
    assert how.standard
    reader = AdvertReader(_OPTIONS)
    content = reader.data_of(advert, how)
    found = None if content is None else reader.read(address, content, how)
    if found is None or isinstance(found, Refusal):
        return
    assert len(found.temperatures) <= 16
    for temperature in found.temperatures.values():
        check_temperature(temperature, (-1000.0, 2000.0))


TARGET = Target(
    check,
    (
        b"\x01\x03pit\n\x40\x02\x39\x15",
        b"\x00\x04Twin Prong 1\n\x57\xaf\x03\xff\xff",
        b"\x02\x05xaxbxcxd\n\x3a\x15\x00\xfe",
        b"\x00\x03\n\x41\x00\x00\x00\x00\x00\x00\x00\x00\x00",
    ),
    (b"Twin Prong", b"abcd", b"a" * 40),
    longest=300,
)
