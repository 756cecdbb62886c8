"""The latest number of each topic: what is older is no news."""

from __future__ import annotations

from pullcall.board.delivery import Slot
from pullcall.board.stamp import Stamp


class Latest:
    """Of each topic, the run and the number of what was said last."""

    def __init__(self) -> None:
        self._of: dict[Slot, tuple[str, int]] = {}

    def is_old(self, slot: Slot, stamp: Stamp) -> bool:
        """Whether something later is known already; else this is the latest from now on."""
        if not stamp.epoch or stamp.seq is None:
            return False
        epoch, seq = self._of.get(slot, ("", -1))
        if stamp.epoch == epoch and stamp.seq <= seq:
            return True
        self._of[slot] = (stamp.epoch, stamp.seq)
        return False

    def is_after(self, slot: Slot, stamp: Stamp) -> bool:
        """Whether what a topic says was said after something else, as far as it can be told."""
        epoch, seq = self._of.get(slot, ("", -1))
        return stamp.seq is not None and epoch == stamp.epoch and seq > stamp.seq

    def forget(self, slot: Slot) -> None:
        """Whatever comes of a topic is news."""
        self._of.pop(slot, None)
