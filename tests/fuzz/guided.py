"""``python -m tests.fuzz.guided TARGET SECONDS FOLDER``: attacks one target, in its own process.

The code attacked is instrumented as it is imported, so this process imports nothing of it before.
What an input breaks is kept once for each place in the code, and the attack goes on; only an input
that takes too long or too much memory ends it (:data:`INPUT_S`, :data:`MOST_MB`).
"""

from __future__ import annotations

import gc
import hashlib
import logging
import sys
import warnings
from pathlib import Path

import atheris

from tests.fuzz.findings import Findings
from tests.fuzz.target import HOSTILE, Target, inputs_of, load

#: An input may take this long, seconds, and the process so much memory, MB.
INPUT_S, MOST_MB = 10, 1500
#: Ours, and what others wrote in Python that reads for us.
_ATTACKED = ["pullcall", "tomllib", "jsonpath"]
#: These reckon with arrays, each of which an instrumented comparison would keep for ever (atheris
#: 3.0.0: without them the memory of 340 replays stays as it was, with them it grows by 1.1 GB).
_SPARED = [
    f"pullcall.{folder}.{path.stem}"
    for folder in ("forecast", "plan")
    for path in (Path(__file__).parents[2] / "daemon" / "pullcall" / folder).glob("*.py")
]


def main(name: str, seconds: str, folder: Path) -> None:
    """Attack; never returns."""
    logging.disable(logging.CRITICAL)
    warnings.simplefilter("ignore")
    with atheris.instrument_imports(include=_ATTACKED, exclude=_SPARED):
        target = load(name)
    gc.collect()
    gc.freeze()  # so that tidying up looks at what inputs left, and at nothing else
    begun, found = _folders(folder, inputs_of(name, target))
    arguments = [
        f"-max_total_time={seconds}", f"-max_len={target.longest}", f"-timeout={INPUT_S}",
        f"-rss_limit_mb={MOST_MB}", f"-dict={_words(folder, target)}", "-print_final_stats=1",
        f"-artifact_prefix={found}/", "-close_fd_mask=1", str(begun),
    ]  # fmt: skip
    atheris.Setup([name, *arguments], Findings(found).guard(target.check))
    atheris.Fuzz()


def _folders(folder: Path, inputs: list[bytes]) -> tuple[Path, Path]:
    """What to begin from, written out, and the place of findings."""
    begun, found = folder / "corpus", folder / "findings"
    for one in (begun, found):
        one.mkdir(parents=True, exist_ok=True)
    for data in inputs:
        (begun / hashlib.sha256(data).hexdigest()[:12]).write_bytes(data)
    return begun, found


def _words(folder: Path, target: Target) -> Path:
    """The dictionary, in libFuzzer's notation."""
    path = folder / "words"
    lines = ('"' + "".join(f"\\x{b:02x}" for b in word) + '"' for word in (*HOSTILE, *target.words))
    path.write_text("\n".join(lines))
    return path


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], Path(sys.argv[3]))
