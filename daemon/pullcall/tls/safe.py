"""The folder in which certificates and their keys are kept, for their owner's eyes only."""

from __future__ import annotations

import logging
from pathlib import Path

from pullcall.tls.credential import BrokenCredentialError, Credential, from_pem
from pullcall.whole_file import replace_whole

_log = logging.getLogger(__name__)

_OWNER_ONLY_FOLDER = 0o700


class Safe:
    """Reads and writes whole files; a file is the old one or the new one, never half of it."""

    def __init__(self, folder: Path) -> None:
        """Make the folder if need be, and close it to others. Raises OSError."""
        self._folder = folder
        folder.mkdir(parents=True, exist_ok=True, mode=_OWNER_ONLY_FOLDER)
        folder.chmod(_OWNER_ONLY_FOLDER)

    def path(self, name: str) -> Path:
        """Where the credential of that name is."""
        return self._folder / f"{name}.pem"

    def read(self, name: str) -> Credential | None:
        """What is kept under a name; None if nothing is. A broken file is set aside.

        Raises OSError.
        """
        path = self.path(name)
        try:
            text = path.read_bytes()
        except FileNotFoundError:
            return None
        try:
            return from_pem(text)
        except BrokenCredentialError as error:
            self.set_aside(name, str(error))
            return None

    def write(self, name: str, credential: Credential) -> None:
        """Keep a credential, also over a sudden loss of power. Raises OSError."""
        replace_whole(self.path(name), credential.to_pem())

    def set_aside(self, name: str, reason: str) -> None:
        """Keep a file that is of no use under another name. Raises OSError."""
        path = self.path(name)
        aside = path.with_suffix(".broken")
        path.replace(aside)
        _log.warning("%s cannot be used (%s): it is now %s, and made anew", path, reason, aside)
