"""What the configuration says about the outlets."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True, slots=True)
class LoudspeakerOptions:
    """The loudspeaker of the daemon's machine.

    ``player`` is a command and its arguments, to which the name of a WAV file is added (empty:
    the first that works of those usually installed). With ``folder`` each burst is written there
    as a WAV file instead of being played. ``voice`` is a voice of espeak-ng, such as "en-us".
    """

    enabled: bool = True
    player: tuple[str, ...] = ()
    folder: Path | None = None
    voice: str = "en"


@dataclass(frozen=True, slots=True)
class WebhookOptions:
    """Where calls are posted. Without ``secret`` they are not signed; with ``backup_only`` only
    calls that nobody was heard to play or that nobody answered are posted. Neither address nor
    secret is shown by ``repr``.
    """

    url: str = field(default="", repr=False)
    secret: str = field(default="", repr=False)
    backup_only: bool = False
