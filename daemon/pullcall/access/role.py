"""What a paired phone is to the cook, and what that allows."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType


class Role(StrEnum):
    """What a phone was invited as."""

    COOK = "cook"
    HAND = "hand"
    WATCHER = "watcher"


class Right(StrEnum):
    """What a request needs: to see the cook, to take part in it, to decide about it."""

    READ = "read"
    ACT = "act"
    RULE = "rule"


RIGHTS: Mapping[Role, frozenset[Right]] = MappingProxyType(
    {
        Role.COOK: frozenset(Right),
        Role.HAND: frozenset({Right.READ, Right.ACT}),
        Role.WATCHER: frozenset({Right.READ}),
    }
)
