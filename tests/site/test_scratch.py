"""Files under way lie beside the log, and what a stop left of them is removed."""

from __future__ import annotations

from pathlib import Path

from pullcall.site.scratch import Scratch


def test_what_a_stop_left_is_removed_and_nothing_else(tmp_path: Path) -> None:
    left = Scratch(tmp_path / "cooks.db").make()
    (left / "file").write_text("half a backup")
    others = [Scratch(tmp_path / "other.db").make(), tmp_path / "backup-2026", tmp_path / "kept"]
    for other in others:
        other.mkdir(exist_ok=True)
    link = tmp_path / f"{left.name}-link"
    link.symlink_to(tmp_path / "kept")
    (tmp_path / f"{left.name}-file").touch()
    before = set(tmp_path.iterdir())
    Scratch(tmp_path / "cooks.db").clear()
    assert before - set(tmp_path.iterdir()) == {left}


def test_a_place_is_gone_afterwards(tmp_path: Path) -> None:
    scratch = Scratch(tmp_path / "cooks.db")
    place = scratch.make()
    (place / "file").touch()
    scratch.remove(place)
    assert list(tmp_path.iterdir()) == []
