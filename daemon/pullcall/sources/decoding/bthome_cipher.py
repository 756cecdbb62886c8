"""Encrypted BTHome adverts: AES-CCM with a 4-byte tag, and no packet accepted twice."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESCCM

from pullcall.sources.decoding.value import Refusal

_SERVICE_BYTES = bytes((0xD2, 0xFC))
_COUNTER_BYTES, _TAG_BYTES, _KEY_BYTES, _ADDRESS_BYTES = 4, 4, 16, 6
_TAIL_BYTES = _COUNTER_BYTES + _TAG_BYTES
#: A counter that falls from the top of its 32 bits to the bottom has wrapped, not gone back.
_WRAP_MARGIN = 1 << 16
_COUNTERS = 1 << 32


@dataclass(frozen=True, slots=True)
class Opened:
    """The objects of one advert, and the counter that makes it new."""

    objects: bytes
    counter: int


class CipherGate:
    """Decrypts adverts and remembers each device's counter, so that none can be replayed."""

    def __init__(self, keys: Mapping[str, bytes]) -> None:
        self._keys = {address.upper(): key for address, key in keys.items()}
        self._last: dict[str, tuple[int, bytes]] = {}

    def expects(self, address: str) -> bool:
        """Whether a key is known, so that plain adverts from ``address`` are not believed."""
        return address.upper() in self._keys

    def open(self, address: str, data: bytes) -> Opened | Refusal:
        """Open one advert: info byte, ciphertext, counter, tag."""
        name = address.upper()
        key = self._keys.get(name)
        if key is None:
            return Refusal("encrypted: put its key into [bluetooth.bthome_keys] of pullcall.toml")
        opened = decrypt(data, key, name)
        if isinstance(opened, Refusal):
            return opened
        last = self._last.get(name)
        if last is not None and data != last[1] and not _follows(opened.counter, last[0]):
            return Refusal(
                f"its counter went back from {last[0]} to {opened.counter}: a replayed advert; "
                "if the probe was restarted, restart pullcall too"
            )
        self._last[name] = (opened.counter, data)
        return opened


def decrypt(data: bytes, key: bytes, address: str) -> Opened | Refusal:
    """Decrypt one advert. The nonce is the address, the service, the info byte, the counter."""
    if len(data) < 1 + _TAIL_BYTES:
        return Refusal(f"too short: {len(data)} of at least {1 + _TAIL_BYTES} encrypted bytes")
    if len(key) != _KEY_BYTES:
        return Refusal(f"its key must be {_KEY_BYTES} bytes ({2 * _KEY_BYTES} hex digits) long")
    mac = _address_bytes(address)
    if mac is None:
        return Refusal("encrypted, and its real address is hidden, so it cannot be decrypted")
    counter, tag = data[-_TAIL_BYTES:-_TAG_BYTES], data[-_TAG_BYTES:]
    nonce = mac + _SERVICE_BYTES + data[:1] + counter
    objects = _open_ccm(key, nonce, data[1:-_TAIL_BYTES] + tag)
    if isinstance(objects, Refusal):
        return objects
    return Opened(objects, int.from_bytes(counter, "little"))


def _open_ccm(key: bytes, nonce: bytes, sealed: bytes) -> bytes | Refusal:
    try:
        return AESCCM(key, tag_length=_TAG_BYTES).decrypt(nonce, sealed, None)
    except (InvalidTag, ValueError):
        return Refusal("its key does not fit: correct it in [bluetooth.bthome_keys]")


def _address_bytes(address: str) -> bytes | None:
    try:
        mac = bytes.fromhex(address.replace(":", ""))
    except ValueError:
        return None
    return mac if len(mac) == _ADDRESS_BYTES else None


def _follows(counter: int, last: int) -> bool:
    if counter > last:
        return True
    return last >= _COUNTERS - _WRAP_MARGIN and counter < _WRAP_MARGIN
