"""Facts as the bytes they are kept and sent as: JSON, with the fields' names and units."""

from __future__ import annotations

from pydantic import TypeAdapter, ValidationError

from pullcall.hindsight.facts import CookFacts

_FACTS: TypeAdapter[CookFacts] = TypeAdapter(CookFacts)


def facts_json(facts: CookFacts) -> bytes:
    """The facts as JSON."""
    # Read-only mappings are written like any other.
    return _FACTS.dump_json(facts, fallback=dict, warnings=False)


def facts_of(content: bytes) -> CookFacts | None:
    """The facts again; None for what another version wrote."""
    try:
        return _FACTS.validate_json(content)
    except ValidationError:
        return None
