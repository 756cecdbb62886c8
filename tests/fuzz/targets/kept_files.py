"""Files that only this machine writes, and that may be damaged all the same: who is paired, how far
the broker has come, the secret of a board."""

from __future__ import annotations

from datetime import UTC, datetime

from pullcall.access.paired_file import PairedFile
from pullcall.access.records import WHOLE, Invitation, Kept, Pairing
from pullcall.access.role import Role
from pullcall.api.board.secret_file import known_secret
from pullcall.bus.position_file import PositionFile
from pullcall.errors import ConfigError
from tests.fuzz.honest import check_words
from tests.fuzz.scratch import scratch
from tests.fuzz.target import Target

_HERE = scratch()
_WALL = datetime(2026, 6, 13, 14, 0, tzinfo=UTC)
_DIGEST = "0" * 64
_KEPT = Kept(
    (Invitation("i1", Role.WATCHER, "x", _DIGEST, 900.0, WHOLE, None),),
    (Pairing("p1", "Phone", Role.COOK, _DIGEST, 900.0, WHOLE, "i1", _WALL.isoformat()),),
)


def check(data: bytes) -> None:
    """A file: what is used of it can be saved and loaded again."""
    for name in ("paired.json", "l.mqtt.json", "board.secret"):
        (_HERE / name).write_bytes(data)
    paired = PairedFile(_HERE / "paired.json", "boot")
    kept = paired.load(100.0, _WALL)
    ends = [*(one.expires for one in kept.invitations), *(one.expires for one in kept.pairings)]
    assert all(100.0 < one < 100.0 + 32 * 86_400.0 for one in ends)
    if kept != Kept():  # saving is forced to the disk, and takes its time
        paired.save(kept, 100.0, _WALL)
        again = paired.load(100.0, _WALL)
        assert [p.id for p in again.pairings] == [p.id for p in kept.pairings]
    for aside in _HERE.glob("paired.json.broken-*"):
        aside.unlink()
    positions = PositionFile(_HERE / "l.mqtt.json", "b").load()
    assert all(-1 <= number < 2**63 for number in positions.values())
    try:
        assert len(known_secret("", _HERE)) == 32
    except ConfigError as error:
        check_words(str(error))


def _paired() -> bytes:
    file = PairedFile(_HERE / "seed.json", "boot")
    file.save(_KEPT, 0.0, _WALL)
    return (_HERE / "seed.json").read_bytes()


TARGET = Target(
    check,
    (
        _paired(),
        b'{"format":"pullcall published records","version":1,"to":"b","cooks":{"c":5}}',
        b"ab" * 32 + b"\n",
        b"\xff",
    ),
    (
        b'"left_s":',
        b'"role":"cook"',
        b'"saved":"0001-01-01T00:00:00Z"',
        b'"monotonic":',
        b'"cooks":',
    ),
    longest=6000,
    weight=1.0,
)
