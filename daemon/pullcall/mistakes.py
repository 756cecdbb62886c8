"""Mistakes in the program that must not end what goes on beside them."""

from __future__ import annotations

import logging


class Mistakes:
    """Makes a fault of each; the journal gets where it came from, once for each kind."""

    def __init__(self, log: logging.Logger, sentence: str) -> None:
        self._log = log
        self._sentence = sentence
        self._told: set[str] = set()

    def fault(self, mistake: Exception) -> str:
        """What is wrong, as half a sentence; to be called where the exception is caught."""
        fault = f"was stopped by a mistake ({name_of(mistake)})"
        if fault not in self._told:
            self._told.add(fault)
            self._log.exception("%s", self._sentence)
        return fault


def name_of(mistake: BaseException) -> str:
    """What kind it is; of a group, its first."""
    return type(cause_of(mistake)).__name__


def cause_of(error: BaseException) -> BaseException:
    """The error itself; of a group, its first. A TaskGroup hides what went wrong in one."""
    while isinstance(error, BaseExceptionGroup):
        error = error.exceptions[0]
    return error
