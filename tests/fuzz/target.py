"""One thing that reads what others send, and how it is attacked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path

#: Where each target has its small corpus, which is part of the project.
CORPUS = Path(__file__).parent / "corpus"
_TARGETS = Path(__file__).parent / "targets"
#: What is worth trying anywhere: numbers beyond all bounds, no numbers, half a character, text
#: that runs backward, deep nesting, the bytes that begin other encodings.
HOSTILE = (
    b"1e999", b"-1e999", b"NaN", b"Infinity", b"-0", b"1e-400", b"9" * 40, b"0x", b"null", b"true",
    b"\\ud800", b"\\u0000", b"\\u202e", "\u202e".encode(), "\u0663".encode(), b"\x00", b"\xff\xfe",
    b"\xed\xa0\x80", b"[" * 40, b'{"a":' * 20, b"]", b"}", b'"', b"\\", b"../", b"%00",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Target:
    """``check`` reads bytes as the program would and asserts what must hold of what came of them;
    it raises nothing for any input.

    ``seeds`` are inputs to begin from, ``words`` are put into inputs, ``longest`` bounds them;
    ``weight`` is its share of an attack's time beside the others.
    """

    check: Callable[[bytes], None]
    seeds: tuple[bytes, ...]
    words: tuple[bytes, ...] = ()
    longest: int = 4096
    weight: float = 1.0


def names() -> tuple[str, ...]:
    """Every target, by the name of its file."""
    return tuple(sorted(path.stem for path in _TARGETS.glob("*.py") if path.stem != "__init__"))


def load(name: str) -> Target:
    """The target of that name, and with it the code that it attacks."""
    found = import_module(f"tests.fuzz.targets.{name}").TARGET
    assert isinstance(found, Target)
    return found


def corpus_of(name: str) -> tuple[Path, ...]:
    """The files of a target's corpus."""
    return tuple(sorted((CORPUS / name).glob("*")))


def inputs_of(name: str, target: Target) -> list[bytes]:
    """What a run begins from: the seeds and the corpus."""
    return [*target.seeds, *(path.read_bytes() for path in corpus_of(name))]
