"""Packets of the open standards to temperatures. Nothing here raises on any bytes."""

from pullcall.sources.decoding.bthome import BthomeAdvert, BthomeDecoder, decode_objects
from pullcall.sources.decoding.characteristics import (
    DECODERS,
    decode_battery,
    decode_cooking_temperature,
    decode_environment_temperature,
    decode_health_temperature,
)
from pullcall.sources.decoding.value import Refusal, Temperature, Verdict, judge

__all__ = [
    "DECODERS",
    "BthomeAdvert",
    "BthomeDecoder",
    "Refusal",
    "Temperature",
    "Verdict",
    "decode_battery",
    "decode_cooking_temperature",
    "decode_environment_temperature",
    "decode_health_temperature",
    "decode_objects",
    "judge",
]
