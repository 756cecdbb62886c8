"""Celsius and Fahrenheit: temperatures, and differences of temperatures, which have no 32."""

from __future__ import annotations

#: A difference of one degree Celsius in degrees Fahrenheit.
F_PER_C = 1.8
_FREEZES_F = 32.0


def celsius_to_fahrenheit(celsius: float) -> float:
    """A temperature, not a difference."""
    return celsius * F_PER_C + _FREEZES_F


def fahrenheit_to_celsius(fahrenheit: float) -> float:
    """A temperature, not a difference."""
    return (fahrenheit - _FREEZES_F) / F_PER_C
