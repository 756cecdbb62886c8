"""Everything out as one file and in again, and tables of other recorders in."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullcall.cli.main import main
from pullcall.log.cook_file import cook_lines
from pullcall.log.store import Store
from tests.cooks import HEADER, two_steak_cook

Out = pytest.CaptureFixture[str]
TABLE = "Time,Probe1,Pit\n0:00,41,500\n0:30,47,510\n1:00,oops,505\n1:30,59,500\n"


@pytest.fixture
def log(tmp_path: Path) -> Path:
    cook, log = tmp_path / "cook.jsonl", tmp_path / "here" / "cooks.db"
    cook.write_text("\n".join(cook_lines(HEADER, two_steak_cook(20.0))))
    assert main(["import", str(cook), "--log", str(log)]) == 0
    assert main(["note", HEADER.cook, "place=Riverside", "--log", str(log)]) == 0
    return log


def test_a_backup_brings_every_cook_back_to_the_byte(
    log: Path, tmp_path: Path, capsys: Out
) -> None:
    config = tmp_path / "pullcall.toml"
    config.write_text('[page]\nunit = "C"\n[webhook]\nsecret = "hickory"\n')
    backup, there = str(tmp_path / "all.backup"), str(tmp_path / "there" / "cooks.db")
    with Store(log):  # while a site runs
        assert main(["backup", backup, "--config", str(config), "--log", str(log)]) == 0
    assert "Backed up 1 cook into" in capsys.readouterr().out
    settings = tmp_path / "settings.toml"
    assert main(["restore", backup, "--settings", str(settings), "--log", there]) == 0
    assert "1 cook was added." in capsys.readouterr().out
    assert settings.read_text() == '[page]\nunit = "C"\n[webhook]\n'
    exported = []
    for path in (str(log), there):
        assert main(["export", HEADER.cook, "--log", path]) == 0
        exported.append(capsys.readouterr().out)
    assert exported[0] == exported[1]
    assert '"place"' in exported[0]
    assert main(["restore", backup, "--log", there]) == 0
    assert "0 cooks were added, 1 was in the log already." in capsys.readouterr().out


def test_settings_are_never_written_over_a_file(log: Path, tmp_path: Path, capsys: Out) -> None:
    backup, config = str(tmp_path / "all.backup"), tmp_path / "pullcall.toml"
    config.write_text('[page]\nunit = "C"\n')
    main(["backup", backup, "--config", str(config), "--log", str(log)])
    assert main(["restore", backup, "--settings", str(config), "--log", str(log)]) == 1
    assert "give a new file" in capsys.readouterr().err


def test_while_a_site_runs_restoring_is_for_its_page(
    log: Path, tmp_path: Path, capsys: Out
) -> None:
    backup = str(tmp_path / "all.backup")
    main(["backup", backup, "--log", str(log)])
    with Store(log):
        assert main(["restore", backup, "--log", str(log)]) == 1
    assert "on its page, in the logbook" in capsys.readouterr().err


def test_a_table_is_imported_and_its_broken_row_named(tmp_path: Path, capsys: Out) -> None:
    file, log = tmp_path / "Saturday.csv", str(tmp_path / "cooks.db")
    file.write_text(TABLE)
    columns = ["--columns", "time=Time,left=Probe1,grate=Pit", "--unit", "F"]
    marks = ["--on", "left=0:30", "--off", "left=1:30", "--thickness", "left=28"]
    assert main(["import", str(file), *columns, *marks, "--log", log]) == 2
    printed = capsys.readouterr()
    assert "line 4: 'oops' is no number" in printed.err
    cook = printed.out.split()[1].rstrip(":")
    assert cook.startswith("saturday-")
    assert main(["export", cook, "--log", log]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert '"thickness_mm":28.0' in lines[0]
    assert '{"record":"mark","t":30.0,"steak":"left","mark":"on","id":"m1"}' in lines
    assert (
        '{"record":"reading","t":90.0,"steak":"left","celsius":15.0,"channel":"table/1"}' in lines
    )
    assert main(["import", str(file), *columns, *marks, "--log", log]) == 1
    assert "already: nothing was changed" in capsys.readouterr().err


def test_a_table_without_marks_says_what_is_missing(tmp_path: Path, capsys: Out) -> None:
    file, log = tmp_path / "plain.csv", str(tmp_path / "cooks.db")
    file.write_text("T;P\n0;41,5\n1;42\n")
    assert (
        main(["import", str(file), "--columns", "time=T,left=P", "--unit", "F", "--log", log]) == 0
    )
    assert "Give --on" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["import", "{tmp}/a.csv", "--log", "{tmp}/a.db"], "with --columns"),
        (
            ["import", "{tmp}/a.csv", "--columns", "time=T,x=P", "--log", "{tmp}/a.db"],
            "never guessed",
        ),
        (
            ["import", "{tmp}/none.csv", "--columns", "time=T,x=P", "--unit", "C"],
            "Check the path",
        ),
        (["backup", "{tmp}/all", "--log", "{tmp}/none.db"], "There is no cook log"),
        (["restore", "{tmp}/none", "--log", "{tmp}/a.db"], "check the path"),
        (["restore", "{tmp}/a.csv", "--log", "{tmp}/a.db"], "no backup of Pullcall"),
    ],
)
def test_a_mistake_is_one_sentence(
    arguments: list[str], says: str, tmp_path: Path, capsys: Out
) -> None:
    (tmp_path / "a.csv").write_text("T,P\n0,41\n")
    assert main([a.replace("{tmp}", str(tmp_path)) for a in arguments]) == 1
    assert says in capsys.readouterr().err
    assert not (tmp_path / "a.db").exists()
