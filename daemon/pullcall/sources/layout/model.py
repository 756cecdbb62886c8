"""The shape of a layout file. Unknown keys are errors, so that a typing slip is found."""

from __future__ import annotations

import re
from fnmatch import fnmatchcase
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, StrictInt, model_validator
from pydantic import Field as Limits

from pullcall.sources.layout.numbers import NumberType

_ADDRESS = re.compile(r"(?:[0-9A-F]{2}:){5}[0-9A-F]{2}")


def _uuid(text: str) -> str:
    from bleak.uuids import normalize_uuid_str  # brings all of bleak, which a board never needs

    try:
        return normalize_uuid_str(text)
    except ValueError:
        raise ValueError(f"{text!r} is no UUID; write 4, 8 or 32 hex digits") from None


def _address(text: str) -> str:
    if not _ADDRESS.fullmatch(text.upper()):
        raise ValueError(f"{text!r} is no address; write it as AA:BB:CC:DD:EE:FF")
    return text.upper()


Uuid = Annotated[str, AfterValidator(_uuid)]
Number = Annotated[float, Limits(strict=True)]
#: Far beyond all that glows: what is good by a range can be logged, and read from the log again.
Bound = Annotated[float, Limits(ge=-1e5, le=1e5, strict=True)]
Address = Annotated[str, AfterValidator(_address)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class DeviceMatch(_Strict):
    """Which devices: every key that is given must match."""

    address: Address | None = None
    name: str | None = None
    service: Uuid | None = None

    @model_validator(mode="after")
    def _something(self) -> DeviceMatch:
        if self.address is None and self.name is None and self.service is None:
            raise ValueError("give address, name or service, or it would match every device")
        return self

    def matches(self, address: str, name: str, services: frozenset[str]) -> bool:
        """Whether a device is meant; ``name`` is a glob, ``services`` full lower-case UUIDs."""
        return (
            (self.address is None or self.address == address.upper())
            and (self.name is None or fnmatchcase(name, self.name))
            and (self.service is None or self.service in services)
        )


class Where(_Strict):
    """Where the bytes are: in a characteristic, or in one field of the advert."""

    characteristic: Uuid | None = None
    service_data: Uuid | None = None
    manufacturer_data: Annotated[int, Limits(ge=0, le=0xFFFF, strict=True)] | None = None

    @model_validator(mode="after")
    def _exactly_one(self) -> Where:
        given = (self.characteristic, self.service_data, self.manufacturer_data)
        if sum(one is not None for one in given) != 1:
            raise ValueError("give exactly one of characteristic, service_data, manufacturer_data")
        return self


class Field(_Strict):
    """One temperature: ``(raw * scale + add)`` in ``unit``, good within ``range`` (same unit)."""

    channel: Annotated[int, Limits(ge=1, le=64, strict=True)]
    offset: Annotated[int, Limits(ge=0, le=511, strict=True)]
    type: NumberType
    scale: Number = 1.0
    add: Number = 0.0
    unit: Literal["F", "C"] = "C"
    invalid: tuple[StrictInt, ...] = ()
    range: tuple[Bound, Bound]

    @model_validator(mode="after")
    def _sensible(self) -> Field:
        if self.range[0] >= self.range[1]:
            raise ValueError("range must be [lowest, highest]")
        if self.scale == 0:
            raise ValueError("scale must not be 0")
        return self

    @property
    def end(self) -> int:
        """The offset just behind its last byte."""
        return self.offset + self.type.width


class Layout(_Strict):
    """One kind of device and where its temperatures are."""

    name: Annotated[str, Limits(min_length=1)]
    device: DeviceMatch
    where: Where
    field: tuple[Field, ...]

    @model_validator(mode="after")
    def _channels_differ(self) -> Layout:
        channels = [field.channel for field in self.field]
        if not channels:
            raise ValueError("declare at least one [[field]]")
        if len(set(channels)) != len(channels):
            raise ValueError("two fields have the same channel; number them 1, 2, ...")
        return self
