"""Which inputs are worth keeping: a few small ones that together reach most of the code."""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

from tests.fuzz.target import CORPUS, load

#: Files of a target, and bytes of a file, at most.
MOST_FILES, MOST_BYTES = 40, 1024
_ROOT = Path(__file__).parents[2]
#: From line to line within one file of ours.
Step = tuple[str, int, int]


#: What a file is called that broke something once: it stays.
_FOUND = "found-"


def keep(name: str, attacked: Path) -> None:
    """Make a target's corpus anew of what it has and what an attack left in its folder."""
    command = [sys.executable, "-m", "tests.fuzz.choose", name, str(attacked / "corpus")]
    told = subprocess.run(command, cwd=_ROOT, capture_output=True, text=True, check=True).stdout
    chosen = [bytes.fromhex(text) for text in json.loads(told.splitlines()[-1])]
    folder = CORPUS / name
    folder.mkdir(parents=True, exist_ok=True)
    for path in folder.iterdir():
        if not path.name.startswith(_FOUND):
            path.unlink()
    for broken in (attacked / "findings").glob("*"):
        if not broken.suffix and broken.stat().st_size <= MOST_BYTES:
            (folder / f"{_FOUND}{broken.name}").write_bytes(broken.read_bytes())
    for data in chosen[: MOST_FILES - len(list(folder.iterdir()))]:
        (folder / hashlib.sha256(data).hexdigest()[:12]).write_bytes(data)


def choose(check: Callable[[bytes], None], inputs: list[bytes]) -> list[bytes]:
    """Again and again the input that reaches most of what none before it did; of equals the
    shortest."""
    reached = {data: steps_of(check, data) for data in sorted(inputs, key=lambda d: (len(d), d))}
    known: set[Step] = set()
    chosen: list[bytes] = []
    while len(chosen) < MOST_FILES:
        best = max(reached, key=lambda data: len(reached[data] - known), default=b"")
        if not reached or not reached[best] - known:
            break
        known |= reached.pop(best)
        chosen.append(best)
    return chosen


def steps_of(check: Callable[[bytes], None], data: bytes) -> set[Step]:
    """The steps from line to line that ``check`` makes in the program's own files."""
    steps: set[Step] = set()

    def follow(frame: FrameType, event: str, _: Any) -> Any:
        name, before = frame.f_code.co_filename, frame.f_lineno
        if "pullcall" not in name:
            return None

        def step(frame: FrameType, event: str, _: Any) -> Any:
            nonlocal before
            steps.add((name, before, frame.f_lineno))
            before = frame.f_lineno
            return step

        return step

    sys.settrace(follow)
    try:
        check(data)
    finally:
        sys.settrace(None)
    return steps


def main(name: str, found: Path) -> None:
    """Print what is chosen, as a list of hex."""
    target = load(name)
    paths = [*found.glob("*"), *(CORPUS / name).glob("*")]
    inputs = {path.read_bytes() for path in paths if path.stat().st_size <= MOST_BYTES}
    print(json.dumps([data.hex() for data in choose(target.check, sorted(inputs))]))


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]))
