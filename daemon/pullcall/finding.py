"""What is wrong with a value that somebody wrote or sent, in words that say what to write."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

#: The unit by how a name ends.
_UNITS = {"mm": "mm", "s": "s", "c": "C", "g": "g"}
_MOST_SHOWN = 40
_END = re.compile("_(type|parsing|from_float)$")
#: The validator's kinds of finding; what is not here keeps the validator's own words.
_WORDS: dict[str, Callable[[Mapping[str, Any], str], str]] = {
    "missing": lambda _, unit: "it is missing",
    "greater_than": lambda of, unit: f"it must be more than {of['gt']:g}{unit}",
    "greater_than_equal": lambda of, unit: f"it must be {of['ge']:g}{unit} or more",
    "less_than": lambda of, unit: f"it must be less than {of['lt']:g}{unit}",
    "less_than_equal": lambda of, unit: f"it must be {of['le']:g}{unit} or less",
    "literal_error": lambda of, _: f"write {of['expected']}",
    "enum": lambda of, _: f"write {of['expected']}",
    "string_too_long": lambda of, _: f"write {of['max_length']} characters at most",
    "string_too_short": lambda of, _: (
        "write something"
        if of["min_length"] == 1
        else f"write {of['min_length']} characters at least"
    ),
    "too_long": lambda of, _: f"give {of['max_length']} at most",
    "too_short": lambda of, _: f"give {of['min_length']} at least",
    "json_invalid": lambda _, unit: "it is no JSON",
    "extra_forbidden": lambda _, unit: "nothing is called that: leave it out",
}
#: Findings of the wrong kind of value: what it should be. They end in "type" or "parsing".
_KINDS = {
    "int": "a whole number",
    "float": "a number",
    "bool": "true or false",
    "string": "a text",
    "finite_number": "a finite number",
    "tuple": "a list",
    "list": "a list",
    "dict": "names with values",
    "model": "names with values",
    "model_attributes": "names with values",
    "path": "a path as text",
}


def sentence(error: Mapping[str, Any]) -> str:
    """One of pydantic's findings in a few words, without the place, with the unit."""
    kind = str(error["type"])
    unit = _unit(error)
    if kind in _WORDS:
        return _WORDS[kind](error.get("ctx") or {}, unit)
    wanted = _KINDS.get(_END.sub("", kind))
    if wanted is None:
        return str(error["msg"]).removeprefix("Value error, ")
    if "number" not in wanted:
        return f"write {wanted}"
    return f"write {wanted}{f' of{unit}' if unit else ''}{_not_that(error.get('input'))}"


def _unit(error: Mapping[str, Any]) -> str:
    names = [part for part in error.get("loc", ()) if isinstance(part, str)]
    _, is_split, end = (names[-1] if names else "").rpartition("_")
    return f" {_UNITS[end]}" if is_split and end in _UNITS else ""


def _not_that(given: object) -> str:
    """What was given in place of a number, where it is short: no secret is one."""
    shown = repr(given)
    is_shown = isinstance(given, str | int | float) and len(shown) <= _MOST_SHOWN
    return f", not {shown}" if is_shown else ""
