"""The configuration is checked whole; every mistake is one sentence that names file and key."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pullcall.errors import ConfigError
from pullcall.settings import Settings, load_settings

ROOT = Path(__file__).parents[1]


def load(tmp_path: Path, text: str) -> Settings:
    file = tmp_path / "pullcall.toml"
    file.write_text(text)
    return load_settings(file)


def test_the_example_says_exactly_the_defaults() -> None:
    example = load_settings(ROOT / "config" / "pullcall.toml")
    assert example.page == Settings().page
    assert example.bluetooth == Settings().bluetooth
    assert example.cook == Settings().cook
    assert [s.steak for s in example.steak_settings()] == ["left", "right"]
    assert example.steak_settings()[0].pull_c == pytest.approx(53.9, abs=0.02)


def test_every_key_stands_in_the_example() -> None:
    text = (ROOT / "config" / "pullcall.toml").read_text()
    for section, model in Settings.model_fields.items():
        assert (model.alias or section) in text
        inner = model.annotation
        fields = getattr(inner, "model_fields", None) or inner.__args__[0].model_fields  # type: ignore[union-attr]
        for key in fields:
            assert re.search(rf"\b{key}\b", text), f"{section}.{key} is not in the example"


def test_temperatures_are_read_in_either_unit(tmp_path: Path) -> None:
    settings = load(
        tmp_path, '[[steak]]\nname = "a"\npull = "129 F"\n[[steak]]\nname = "b"\npull = "54 C"\n'
    )
    assert [s.pull for s in settings.steaks] == [53.89, 54.0]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[page]\nprt = 80\n", "no setting 'page.prt'"),
        ('[page]\nport = "eighty"\n', "page.port"),
        ('[[steak]]\nname = "a"\npull = 129\n', 'for example "129 F"'),
        ('[[steak]]\nname = "a"\npull = "500 F"\n', "between 86 F and 194 F"),
        ('[[steak]]\nname = "a"\n[[steak]]\nname = "a"\n', "names differ"),
        (
            '[[steak]]\nname = "a"\nprobe = "x/1"\n[[steak]]\nname = "b"\nprobe = "x/1"\n',
            "name the same probe",
        ),
        ('[[steak]]\nname = "a"\nprobe = "AA:BB"\n', "steak 1.probe: a channel is a device"),
        ("[page\n", "not valid TOML"),
        ("a = " + "[" * 3000, "not valid TOML"),
        ("a = " + "9" * 5000, "not valid TOML"),
        ('[[steak]]\nname = "a"\nstart = "900 F"', "start must lie between"),
        ('[[steak]]\nname = "a"\ntarget = "900 F"', "target must lie between"),
        (f'[[steak]]\nname = "a"\nstart = "{"9" * 400} F"', "with its unit"),
        ('[fire]\nceiling = "9999 F"', "between 212 F and 1112 F"),
        ('[bluetooth.bthome_keys]\n"AA" = "short"\n', "bthome_keys"),
    ],
)
def test_a_mistake_is_named_with_its_file(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(ConfigError, match=re.escape(says)) as caught:
        load(tmp_path, text)
    assert "pullcall.toml" in str(caught.value)


def test_a_missing_file_that_was_named_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="check --config"):
        load_settings(tmp_path / "none.toml")


def test_without_a_file_the_defaults_hold(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert load_settings(None) == Settings()


def test_layouts_lie_beside_the_configuration(tmp_path: Path) -> None:
    settings = load(tmp_path, '[bluetooth]\nlayouts = ["layouts/mine.toml"]\n')
    assert settings.bluetooth.layouts == (tmp_path / "layouts" / "mine.toml",)


def test_a_service_keeps_its_log_where_systemd_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STATE_DIRECTORY", str(tmp_path))
    assert Settings().log_path() == tmp_path / "cooks.db"


def test_a_broker_s_certificate_that_is_none_is_found_at_the_start(tmp_path: Path) -> None:
    (tmp_path / "ca.pem").write_text("no certificate")
    path = tmp_path / "pullcall.toml"
    path.write_text('[mqtt]\nhost = "broker.lan"\nca = "ca.pem"\n')
    with pytest.raises(ConfigError, match="check ca, certificate and key"):
        load_settings(path).mqtt.broker()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[mqtt]\nsite = "North Grill"', "mqtt.site: a site's id has up to 32 small letters"),
        ('[board]\nsecret = "short"', "board.secret: a secret is 64 hex digits"),
        ('[metrics]\ntoken = "short"', "metrics.token: a token has 16 to 200"),
    ],
)
def test_what_is_no_id_secret_or_token_is_said_in_words(
    tmp_path: Path, text: str, says: str
) -> None:
    path = tmp_path / "pullcall.toml"
    path.write_text(text)
    with pytest.raises(ConfigError, match=re.escape(says)):
        load_settings(path)


def test_a_certificate_that_is_not_there_is_named(tmp_path: Path) -> None:
    path = tmp_path / "pullcall.toml"
    path.write_text('[mqtt]\nhost = "broker.lan"\nca = "ca.pem"\n')
    with pytest.raises(ConfigError, match=r"There is no file .*/ca\.pem: check ca in \[mqtt\]"):
        load_settings(path).mqtt.broker()
