"""``make fuzz``: attacks everything that reads what others send, and prints what was tried.

``python -m tests.fuzz [--minutes 10] [--keep] [TARGET …]``. The attack is guided by coverage where
atheris can be installed; elsewhere hypothesis makes inputs from the same seeds and words, and the
first line says so. With ``--keep`` the inputs that reach most of the code are put into the corpus.
Ends with 1 where something was found: the input and its traceback lie in ``build/fuzz``.
"""

from __future__ import annotations

import argparse
import re
import shutil
import subprocess
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from tests.fuzz.choose import keep
from tests.fuzz.target import corpus_of, load, names

_ROOT = Path(__file__).parents[2]
_BUILD = _ROOT / "build" / "fuzz"
_GUIDED, _PLAIN = "tests.fuzz.guided", "tests.fuzz.unguided"
#: What a process may take beside its attack, seconds: imports, and the last input.
_SLACK_S = 60.0
_DONE = re.compile(r"cov: (\d+) ft: (\d+)")
_RUNS = re.compile(r"executed_units: +(\d+)")
_HEAD = ("target", "executions", "edges", "features", "corpus", "findings")


@dataclass(frozen=True, slots=True)
class Attack:
    """What became of one target's attack; ``edges`` and ``features`` are libFuzzer's, 0 without."""

    name: str
    executions: int
    edges: int
    features: int
    findings: tuple[str, ...]

    def row(self) -> tuple[str, ...]:
        """As the table has it; the corpus is what the project keeps."""
        found = ", ".join(self.findings) or "none"
        figures = (self.executions, self.edges, self.features, len(corpus_of(self.name)))
        return (self.name, *map(str, figures), found)


def attack(name: str, seconds: float, module: str) -> Attack:
    """Attack one target in a process of its own."""
    folder = _BUILD / name
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    command = [sys.executable, "-m", module, name, f"{seconds:.0f}", str(folder)]
    with (folder / "log").open("w") as log:
        try:
            limit_s = seconds + _SLACK_S
            code = subprocess.run(
                command, stderr=log, cwd=_ROOT, timeout=limit_s, check=False
            ).returncode
        except subprocess.TimeoutExpired:
            code = -1
    told = (folder / "log").read_text(errors="replace")
    edges, features = (_DONE.findall(told) or [("0", "0")])[-1]
    runs = _RUNS.findall(told) or ["0"]
    found = [path.name for path in sorted((folder / "findings").glob("*")) if not path.suffix]
    if code != 0 and not found:
        found = [f"ended with {code}: see {folder / 'log'}"]
    return Attack(name, int(runs[-1]), int(edges), int(features), tuple(found))


def table(attacks: Iterable[Attack]) -> Iterator[str]:
    """The table of docs/reliability/fuzz.md."""
    yield f"| {' | '.join(_HEAD)} |"
    yield f"|{'---|' * len(_HEAD)}"
    for one in attacks:
        yield f"| {' | '.join(one.row())} |"


def main() -> int:
    """Attack the targets named, or all; 1 where something was found."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("--minutes", type=float, default=10.0, help="for all of them together")
    parser.add_argument("--keep", action="store_true", help="put what was reached into the corpus")
    parser.add_argument("targets", nargs="*", metavar="TARGET", help=", ".join(names()))
    args = parser.parse_args()
    module = _GUIDED if find_spec("atheris") else _PLAIN
    if module is _PLAIN:
        print("atheris is not installed here: inputs come from hypothesis, without guidance.")
    weights = {name: load(name).weight for name in args.targets or names()}
    done = []
    for name, weight in weights.items():
        done.append(attack(name, args.minutes * 60.0 * weight / sum(weights.values()), module))
        if args.keep:
            keep(name, _BUILD / name)
        print(f"{name}: {done[-1].executions} executions", file=sys.stderr, flush=True)
    print("\n".join(table(done)))
    return 1 if any(one.findings for one in done) else 0


if __name__ == "__main__":
    sys.exit(main())
