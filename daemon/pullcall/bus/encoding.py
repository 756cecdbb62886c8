"""From what pages are told to what the broker is sent: checked, and without what is not for it."""

from __future__ import annotations

import logging

from pydantic import ValidationError

from pullcall.bus.channels import Channel
from pullcall.bus.payloads import LARGEST
from pullcall.bus.publication import Json

_log = logging.getLogger(__name__)


class Encoder:
    """Makes payloads. One that no reader would take is not made; the journal says so once."""

    def __init__(self) -> None:
        self._told: set[str] = set()

    def payload(self, channel: Channel, body: Json) -> bytes | None:
        """The bytes of a body; None for one that breaks the contract of its channel."""
        assert channel.payload is not None
        try:
            model = channel.payload.model_validate(body)
        except ValidationError as exc:
            finding = exc.errors(include_url=False, include_context=False)[0]
            place = ".".join(str(part) for part in finding["loc"])
            self._tell(channel, f"{place}: {finding['msg']}")
            return None
        made = model.model_dump_json(exclude_unset=True).encode()
        if len(made) > LARGEST:
            self._tell(channel, "it is too large")
            return None
        return made

    def _tell(self, channel: Channel, why: str) -> None:
        if channel.name not in self._told:
            self._told.add(channel.name)
            _log.warning("%s cannot be published as it is (%s).", channel.name, why)
