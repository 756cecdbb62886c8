"""``pullcall plan`` prints the day, or says in one sentence what to do."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pullcall.cli.main import main
from pullcall.plan.steps import NAMES, label

DAY = ("--window", "14:00-14:30", "--now", "12:00")
#: Middles of 15, 30, 17, 3, 20, 4, 10, 8, 2 and 3 min; see tests/plan/test_backward.py.
OWN = (
    "season=10-20min",
    "cold=30 min",
    "light=14-20min",
    "pour=2-4min",
    "heat_up=15-25min",
    "fetch=3-5min",
    "cook=9-11min",
    "rest=7-9min",
    "box=60-180s",
    "walk=2-4min",
)


@pytest.fixture(autouse=True)
def no_own_configuration(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))


def printed(capsys: pytest.CaptureFixture[str], *args: str) -> str:
    assert main(["plan", *args]) == 0
    return capsys.readouterr().out


def times(out: str, step: str) -> tuple[str, str]:
    found = re.search(rf"^>?\s+(\d\d:\d\d)\s+(\d\d:\d\d)\s+{step}\b", out, re.MULTILINE)
    assert found is not None, out
    return found[1], found[2]


def refused(capsys: pytest.CaptureFixture[str], *args: str) -> str:
    assert main(["plan", *args]) == 1
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1
    return captured.err


def test_the_table_is_the_day_worked_by_hand(capsys: pytest.CaptureFixture[str]) -> None:
    # Worked by hand from 14:10 with the middles, and from 14:30 with the longest.
    out = printed(capsys, *DAY, "--set", *OWN)
    assert times(out, "Season the steaks") == ("12:58", "13:08")
    assert times(out, "Light the chimney") == ("13:07", "13:14")
    assert times(out, "Put left on") == ("13:47", "14:03")
    assert times(out, "Walk to turn-in") == ("14:07", "14:26")
    assert times(out, "Hand in") == ("14:10", "14:30")
    critical = [line for line in out.splitlines() if re.match(r">\s+\d", line)]
    assert len(critical) == 1
    assert "Light the chimney" in critical[0]
    assert "critical step: 7 min to spare" in out


def test_every_step_and_figure_is_there_and_what_they_mean(
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = printed(capsys, *DAY)
    assert all(label(name, "left") in out for name in NAMES)
    for words in ("inside the window", "90 %", "Last moment", "begin ", "latest ", "--offset"):
        assert words in out
    assert max(map(len, out.splitlines())) <= 110


def test_rows_are_in_the_order_of_time(capsys: pytest.CaptureFixture[str]) -> None:
    begins = re.findall(r"^>?\s+(\d\d:\d\d)\s+\d\d:\d\d", printed(capsys, *DAY), re.MULTILINE)
    assert len(begins) == 13
    assert begins == sorted(begins)


def test_what_is_dangerous_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    # US CPSC: never burn charcoal in homes, vehicles or tents (carbon monoxide). USDA FSIS: whole
    # beef steaks 145 F and a rest of 3 minutes.
    out = printed(capsys, *DAY)
    for words in ("outdoors only", "monoxide", "gloves", "145 F", "food code"):
        assert words in out


def test_an_aim_late_in_the_window_moves_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    early = times(printed(capsys, *DAY, "--aim", "0"), "Hand in")
    late = times(printed(capsys, *DAY, "--aim", "0.5"), "Hand in")
    assert (early, late) == (("14:00", "14:30"), ("14:15", "14:30"))


def test_one_steak_has_no_offset_and_two_with_one_have_a_gap(
    capsys: pytest.CaptureFixture[str],
) -> None:
    one = printed(capsys, *DAY, "--steaks", "1")
    assert "right" not in one
    two = printed(capsys, *DAY, "--offset", "120 s", "--set", *OWN)
    assert "Expect to pull right about" in two
    assert times(two, "Put left on")[0] == "13:45"
    assert times(two, "Put right on")[0] == "13:47"


def test_a_window_past_midnight_is_one_evening(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "--window", "23:45-00:15", "--now", "22:00", "--set", *OWN)
    assert times(out, "Hand in") == ("23:55", "00:15")
    assert times(out, "Light the chimney") == ("22:52", "22:59")


def test_a_window_that_has_closed_is_planned_for_tomorrow_and_says_so(
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = printed(capsys, "--window", "14:00-14:30", "--now", "14:31")
    assert "Today's window closed at 14:30: this is the plan for tomorrow." in out
    assert "tomorrow" not in printed(capsys, *DAY)


def test_when_it_is_too_late_that_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "--window", "14:00-14:30", "--now", "14:00")
    assert "under 1 %" in out
    assert "too late for 90 %" in out
    assert times(out, "Season the steaks")[0] == "14:00"


def test_the_configuration_is_used_and_arguments_go_before_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    config = tmp_path / "site.toml"
    config.write_text(
        '[plan]\nwindow = "15:00-15:30"\naim = 0.5\noffset = "90 s"\n'
        '[plan.durations]\nwalk = "9 min"\n[[steak]]\nname = "front"\n[[steak]]\nname = "back"\n'
    )
    out = printed(capsys, "--config", str(config), "--now", "12:00")
    assert times(out, "Hand in") == ("15:15", "15:30")
    assert times(out, "Walk to turn-in") == ("15:06", "15:21")
    assert "Put front on" in out
    assert "your own time" in out
    other = printed(capsys, "--config", str(config), "--now", "12:00", "--window", "16:00-16:20")
    assert times(other, "Hand in") == ("16:10", "16:20")


@pytest.mark.parametrize(
    ("args", "words"),
    [
        ((), "--window 14:00-14:30"),
        (("--window", "noon"), "14:00-14:30"),
        (("--window", "14:30-14:00"), "opening time first"),
        ((*DAY[:3], "lunch"), "12:30"),
        ((*DAY, "--set", "rest"), "rest=7-9min"),
        ((*DAY, "--set", "nap=3min"), "no step 'nap'"),
        ((*DAY, "--set", "rest=9-7min"), "shorter time first"),
        ((*DAY, "--offset", "soon"), "45 s"),
        (("--config", "nowhere.toml", *DAY), "--config"),
    ],
)
def test_what_cannot_be_used_is_refused_with_what_to_write(
    args: tuple[str, ...], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert words in refused(capsys, *args)


@pytest.mark.parametrize("aim", ["1.5", "-1", "half"])
def test_an_aim_outside_the_window_is_refused(aim: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["plan", *DAY, "--aim", aim])
    assert "--aim" in capsys.readouterr().err


@pytest.mark.parametrize(("unit", "thick"), [("F", "1.26 in"), ("C", "32 mm")])
def test_a_thickness_is_told_as_the_cook_measures_it(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, unit: str, thick: str
) -> None:
    config = tmp_path / "pullcall.toml"
    config.write_text(f'[page]\nunit = "{unit}"\n')
    out = printed(capsys, *DAY, "--config", str(config))
    assert f"{thick} thick, until the forecast knows better" in out
