"""Has the system end a child with this process, however this process ends."""

from __future__ import annotations

import errno
import os
import shutil
from collections.abc import Sequence
from functools import cache


def leashed(command: Sequence[str]) -> tuple[str, ...]:
    """``command``, so that it is killed once this process is gone, even by SIGKILL.

    By setpriv(1) of util-linux, which becomes the command; where it is missing, the command as it
    is. What the command itself starts is not held. To be started by the main thread, whose end
    counts. Raises OSError for a command that cannot be found.
    """
    found = shutil.which(command[0])
    if found is None:
        is_there = os.path.exists(command[0])  # noqa: PTH110 - a word, not always a path
        number = errno.EACCES if is_there else errno.ENOENT
        raise OSError(number, os.strerror(number), command[0])
    return (*_holder(), found, *command[1:])


@cache
def _holder() -> tuple[str, ...]:
    setpriv = shutil.which("setpriv")
    return () if setpriv is None else (setpriv, "--pdeathsig", "KILL", "--")
