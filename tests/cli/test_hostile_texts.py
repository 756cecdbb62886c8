"""A rival's texts on a cook's terminal: in a file that is shared, in a probe's name, in an error.

They may be read, and do nothing: no colour, no cleared screen, no title, no answer typed for the
cook, no forged line, nothing that runs backward.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from pullcall.cli.main import main
from pullcall.cli.probes import closing, screen
from pullcall.events import CookHeader, End, SteakSettings
from pullcall.log.cook_file import cook_lines
from pullcall.printable import printable
from pullcall.sources.sink import LinkState, ProbeStatus
from tests.cooks import in_time_order, off, on, rising

HOSTILE = "\x1b[2J\x1b]0;title\x07\x1b[6n\r\nleft\x9b31m\u202etxt\x00"
Out = pytest.CaptureFixture[str]


def _is_calm(text: str) -> bool:
    """Nothing but lines of what prints."""
    return all(line.isprintable() for line in text.split("\n"))


@pytest.fixture
def log(tmp_path: Path, capsys: Out) -> str:
    """A log into which the cook of somebody else was brought, with texts of theirs all over."""
    path = tmp_path / "cooks.db"
    for name in ("one", "two"):
        steaks = (SteakSettings(HOSTILE, look=HOSTILE), SteakSettings("right"))
        header = CookHeader(name, f"2026-07-04T12:00:00+00:00{HOSTILE}", steaks=steaks)
        inputs = in_time_order(
            [on(0.1), off(305.0, HOSTILE), off(305.1, "right"), End(310.0)],
            rising(HOSTILE, 0.2, 305.0, 5.0, 48.9 / 300.0),
        )
        lines = list(cook_lines(header, inputs))
        for note in ("place", "contest", "text", f"score.{HOSTILE}"):
            record = {"record": "note", "wall": HOSTILE, "steak": None, "name": note}
            lines.append(json.dumps({**record, "value": HOSTILE}))
        lines.append(f'{{"record":"mark",{HOSTILE}')
        file = tmp_path / f"{name}.jsonl"
        file.write_text("\n".join(lines).replace(HOSTILE, json.dumps(HOSTILE)[1:-1]))
        main(["import", str(file), "--log", str(path)])
    capsys.readouterr()
    return str(path)


@pytest.mark.parametrize(
    "command",
    [
        ("logbook",),
        ("logbook", "title"),
        ("note", "one"),
        ("note", "one", "place=Riverside"),
        ("compare", "one", "two"),
        ("learned",),
        ("learned", "--evidence"),
        ("delete", "one"),
        ("delete", "one", "--yes"),
        ("export", HOSTILE.replace("\x00", "")),
        ("note", "one", "nothing\x1b[2J=1"),
        ("report", HOSTILE.replace("\x00", "")),
    ],
    ids=lambda command: " ".join(command[:2])[:20].encode("unicode_escape").decode(),
)
def test_what_a_command_prints_does_nothing_to_the_terminal(
    log: str, command: tuple[str, ...], capsys: Out
) -> None:
    main([*command, "--log", log])
    out = capsys.readouterr()
    assert out.out + out.err, "it says something"
    assert _is_calm(out.out)
    assert _is_calm(out.err)


def test_the_lines_that_an_import_leaves_out_do_nothing_either(tmp_path: Path, capsys: Out) -> None:
    file = tmp_path / "cook.jsonl"
    header, *_ = cook_lines(CookHeader("one", "2026-07-04T12:00:00+00:00"), [])
    file.write_text(
        f'{header}\n{{"record":"{HOSTILE}"\n{{"record":"mark","t":1,"mark":"{HOSTILE}"}}'
    )
    main(["import", str(file), "--log", str(tmp_path / "cooks.db")])
    table = tmp_path / "table.csv"
    table.write_text(f"{HOSTILE},b\n1,2\n")
    main(["import", str(table), "--columns", "time=a,left=b", "--log", str(tmp_path / "cooks.db")])
    out = capsys.readouterr()
    assert "left out" in out.err
    assert _is_calm(out.out)
    assert _is_calm(out.err)


def test_a_probe_cannot_paint_the_list_of_probes() -> None:
    """Its name is in its advertisement: anybody within reach of the radio can send one."""
    probe = ProbeStatus(
        channel=f"AA:BB:CC:DD:EE:FF/{HOSTILE}",
        device="AA:BB:CC:DD:EE:FF",
        name=HOSTILE,
        standard="Cookware",
        state=LinkState.STREAMING,
        note=HOSTILE,
    )
    lines = [*screen([probe], [], {}), *closing([probe], None, {})]
    assert all(line.isprintable() for line in lines)


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("Left, 54.3 °C – 次", "Left, 54.3 °C – 次"),
        ("\x1b[31m", r"\x1b[31m"),
        ("a\nb\tc", r"a\nb\tc"),
        ("\u202e\u200b\ud800\x85", r"\u202e\u200b\ud800\x85"),
    ],
)
def test_what_prints_stays_and_the_rest_is_written_out(text: str, written: str) -> None:
    assert printable(text) == written
