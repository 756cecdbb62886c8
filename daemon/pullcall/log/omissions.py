"""The one codec between what is left out of a cook and its records."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pullcall.core.omission import Omission, Span
from pullcall.events import Input
from pullcall.log.fields import number, shown, text
from pullcall.log.records import input_record, kinds, parse_input

_KIND = "omission"
_NAMES = {kind: name for name, kind in kinds().items()}


def omission_record(omission: Omission) -> dict[str, Any]:
    """The record of one omission."""
    what = omission.what
    return {
        "record": _KIND,
        "t": omission.t,
        "failed_t": omission.failed_t,
        "why": omission.why,
        **(_span_record(what) if isinstance(what, Span) else {"input": input_record(what)}),
    }


def parse_omission(record: Mapping[str, Any]) -> Omission | None:
    """The omission of one record; None for another kind, or for what this version does not know.

    Raises ValueError with a sentence for an omission that breaks the format.
    """
    if record.get("record") != _KIND:
        return None
    what = _span(record) if "span" in record else _input(record)
    if what is None:
        return None
    return Omission(number(record, "t"), what, number(record, "failed_t"), text(record, "why"))


def _span_record(span: Span) -> dict[str, Any]:
    return {"span": [span.since, span.until], "kinds": [_NAMES[kind] for kind in span.kinds]}


def _span(record: Mapping[str, Any]) -> Span | None:
    ends, names = record["span"], record.get("kinds")
    if not isinstance(ends, list) or len(ends) != 2 or not isinstance(names, list):
        raise ValueError("span must be two times, and kinds a list")
    since, until = (number({"span": end}, "span") for end in ends)
    known = kinds()
    found = tuple(known[name] for name in names if isinstance(name, str) and name in known)
    return Span(found, since, until) if found else None


def _input(record: Mapping[str, Any]) -> Input | None:
    what = record.get("input")
    if not isinstance(what, dict):
        raise ValueError(f"input must be a record, not {shown(what)}")
    return parse_input(what)
