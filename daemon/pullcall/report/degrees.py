"""Figures as people read them: temperatures in their unit, times as clock or words."""

from __future__ import annotations

from dataclasses import dataclass

from pullcall.degrees import F_PER_C, celsius_to_fahrenheit

_MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Degrees:
    """Celsius told in ``letter``, F or C. Raises ValueError for any other."""

    letter: str

    def __post_init__(self) -> None:
        if self.letter not in ("F", "C"):
            raise ValueError("a report tells temperatures in F or C")

    def number(self, celsius: float) -> float:
        """A temperature as a number in the unit."""
        return celsius_to_fahrenheit(celsius) if self.letter == "F" else celsius

    def step(self, kelvin: float) -> float:
        """A difference of temperatures as a number in the unit."""
        return kelvin * F_PER_C if self.letter == "F" else kelvin

    def at(self, celsius: float) -> str:
        """A temperature, such as "129.0 F"."""
        return f"{_no_minus_zero(self.number(celsius), 1)} {self.letter}"

    def whole(self, celsius: float) -> str:
        """A grate's temperature, to the degree."""
        return f"{_no_minus_zero(self.number(celsius), 0)} {self.letter}"

    def apart(self, kelvin: float) -> str:
        """A difference without its sign, such as "1.3 F"."""
        return f"{abs(self.step(kelvin)):.1f} {self.letter}"

    @property
    def length(self) -> str:
        """The unit of a thickness: who reads F measures in inches."""
        return "in" if self.letter == "F" else "mm"

    def thickness(self, mm: float) -> float:
        """A thickness as a number in the unit, as fine as it is told."""
        return round(mm / _MM_PER_INCH, 2) if self.letter == "F" else round(mm, 1)

    def thick(self, mm: float) -> str:
        """A thickness, such as "1.26 in" or "32 mm"."""
        return f"{self.thickness(mm):g} {self.length}"

    def signed(self, kelvin: float) -> str:
        """A difference with its sign, such as "+1.3 F"."""
        return f"{_signed(self.step(kelvin), 1)} {self.letter}"


def clock(seconds: float) -> str:
    """A time as minutes and seconds, "9:05"; hours before them where there are any."""
    whole = round(abs(seconds))
    minus = "−" if seconds < 0.0 and whole else ""
    minutes, left = divmod(whole, 60)
    if minutes < 60:
        return f"{minus}{minutes}:{left:02d}"
    return f"{minus}{minutes // 60}:{minutes % 60:02d}:{left:02d}"


def span(seconds: float) -> str:
    """A length of time in words, without its sign: "25 s", "9 min 5 s", "2 h 5 min"."""
    whole = round(abs(seconds))
    if whole < 120:
        return f"{whole} s"
    minutes, left = divmod(whole, 60)
    if minutes >= 60:
        return f"{minutes // 60} h {minutes % 60} min"
    return f"{minutes} min {left} s" if left else f"{minutes} min"


def about(seconds: float) -> str:
    """A length of time as people mean it: "25 s", "about 5 min"."""
    return span(seconds) if abs(seconds) < 120.0 else f"about {span(60.0 * round(seconds / 60.0))}"


def signed_seconds(seconds: float) -> str:
    """Seconds with their sign, "+4.2 s"."""
    return f"{_signed(seconds, 1)} s"


def capital(name: str) -> str:
    """A steak's name where a sentence begins with it."""
    return name[:1].upper() + name[1:]


def _signed(value: float, digits: int) -> str:
    text = _no_minus_zero(value, digits)
    return f"−{text[1:]}" if text.startswith("-") else f"+{text}"


def _no_minus_zero(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    return text[1:] if text.startswith("-") and not float(text) else text
