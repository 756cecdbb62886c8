"""A command's arguments, options before, between and after the others."""

from __future__ import annotations

import argparse
from typing import Any


class CommandParser(argparse.ArgumentParser):
    """Takes ``note last --log FILE place=Riverside``, as ``note last place=Riverside --log FILE``.

    argparse itself hands out every other argument before it looks past an option.
    """

    _is_within = False

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> tuple[Any, list[str]]:
        """As argparse, which calls this itself for each of its two rounds."""
        if self._is_within or self._subparsers is not None:
            return super().parse_known_args(args, namespace)
        self._is_within = True
        try:
            return self.parse_known_intermixed_args(args, namespace)
        finally:
            self._is_within = False
