"""``[[mqtt.probe]]`` is checked whole, and every key stands in the example and the docs."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pullcall.errors import ConfigError, LayoutError
from pullcall.settings import Settings, load_settings
from pullcall.sources.mqtt.options import MqttOptions
from pullcall.sources.mqtt.section import MqttProbeSection

ROOT = Path(__file__).parents[3]
EXAMPLE = (ROOT / "config" / "pullcall.toml").read_text()
DOCS = (ROOT / "docs" / "probes.md").read_text()
BROKER = '[mqtt]\nhost = "broker.example"\n'
KEYS = [field.alias or name for name, field in MqttProbeSection.model_fields.items()]


def load(tmp_path: Path, text: str) -> Settings:
    file = tmp_path / "pullcall.toml"
    file.write_text(text)
    return load_settings(file)


def probe(text: str) -> str:
    return f"{BROKER}[[mqtt.probe]]\n{text}\n"


def options(tmp_path: Path, text: str) -> MqttOptions:
    made = load(tmp_path, text).mqtt_options()
    assert made is not None
    return made


def test_every_key_stands_in_the_example_and_in_the_docs() -> None:
    commented = EXAMPLE.partition("# [[mqtt.probe]]")[2].partition("[board]")[0]
    assert [key for key in KEYS if f"\n# {key} = " not in commented] == []
    table = DOCS.partition("## Over MQTT")[2].partition("## What the states mean")[0]
    told = "".join(re.findall(r"^\| `.*? \|", table, re.MULTILINE))
    assert [key for key in KEYS if f"`{key}`" not in told] == []


def test_the_examples_of_the_docs_are_what_they_say(tmp_path: Path) -> None:
    section = DOCS.partition("## Over MQTT")[2].partition("## What the states mean")[0]
    examples = "\n".join(re.findall(r"^    (.*)$", section, re.MULTILINE))
    (tmp_path / "layouts").mkdir()
    twin = (ROOT / "config" / "layouts" / "twin-prong.toml").read_text()
    (tmp_path / "layouts" / "twin-prong.toml").write_text(twin)
    gate, prong, pit = options(tmp_path, BROKER + examples).probes
    assert (gate.topic, gate.paths, gate.battery) == (
        "gateway/+/state",
        ("$.temperature",),
        "$.battery",
    )
    assert prong.layout is not None
    assert prong.layout.name == "twin prong"
    assert (pit.standard, pit.unit) == ("MQTT, text", "F")


def test_the_commented_example_holds_with_any_one_way_to_read(tmp_path: Path) -> None:
    commented = EXAMPLE.partition("# [[mqtt.probe]]")[2].partition("[board]")[0]
    lines = [line.removeprefix("# ") for line in commented.splitlines()[1:]]
    json = [line for line in lines if not line.startswith(("layout", "plain"))]
    made = options(tmp_path, probe("\n".join(json)))
    assert made.probes[0].range == (-40.0, 400.0)


def test_without_a_broker_or_a_probe_nothing_is_listened_to(tmp_path: Path) -> None:
    assert Settings().mqtt_options() is None
    assert load(tmp_path, BROKER).mqtt_options() is None
    declared = probe('topic = "p"\nname = "p"\nplain = true').replace("broker.example", "")
    assert load(tmp_path, declared).mqtt_options() is None


def test_a_site_that_publishes_nothing_may_listen(tmp_path: Path) -> None:
    settings = load(tmp_path, probe('topic = "p"\nname = "p"\nplain = true'))
    assert settings.mqtt.site_options() is None
    assert settings.mqtt_options() is not None


def test_a_steaks_channel_over_mqtt_is_named_to_the_listener_and_not_to_bluetooth(
    tmp_path: Path,
) -> None:
    text = probe('topic = "gateway/+"\nname = "gate"\nplain = true') + (
        '[[steak]]\nname = "left"\nprobe = "mqtt:gate-Kitchen2/1"\n'
        '[[steak]]\nname = "right"\nprobe = "aa:bb:cc:dd:ee:01/1"\n'
        '[fire]\nprobe = "mqtt:gate-pit/1"\n'
    )
    settings = load(tmp_path, text)
    made = settings.mqtt_options()
    assert made is not None
    assert made.named == ("mqtt:gate-Kitchen2/1", "mqtt:gate-pit/1")
    assert settings.named_devices() == ("AA:BB:CC:DD:EE:01",)
    assert settings.steak_settings()[0].channel == "mqtt:gate-Kitchen2/1"


@pytest.mark.parametrize(
    ("right", "bluetooth", "is_used"),
    [
        ('probe = "mqtt:gate-B/1"', "", False),
        ('probe = "mqtt:gate-B/1"', 'only = ["AA:BB:CC:DD:EE:01"]', True),
        ('probe = "AA:BB:CC:DD:EE:01/1"', "", True),
        ("", "", True),
        ("", "enabled = false", False),
    ],
)
def test_with_every_steak_over_mqtt_other_cooks_probes_are_left_alone(
    tmp_path: Path, right: str, bluetooth: str, is_used: bool
) -> None:
    text = probe('topic = "gateway/+"\nname = "gate"\nplain = true') + (
        '[[steak]]\nname = "left"\nprobe = "mqtt:gate-A/1"\n'
        f'[[steak]]\nname = "right"\n{right}\n[bluetooth]\n{bluetooth}\n'
    )
    assert load(tmp_path, text).uses_bluetooth() is is_used


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('topic = "p"\nname = "p"', "give exactly one of json, layout, plain = true"),
        ('topic = "p"\nname = "p"\nplain = true\njson = "$.t"', "give exactly one of"),
        ('topic = "p"\nname = "p"\njson = []', "give exactly one of"),
        ('topic = "#"\nname = "p"\nplain = true', "mqtt.probe 1.topic: "),
        ('topic = "p"\nname = "p/q"\nplain = true', "mqtt.probe 1.name: "),
        ('topic = "p"\nname = "p"\njson = "t"', "'t' is no JSONPath of RFC 9535"),
        ('topic = "p"\nname = "p"\njson = ["$.a", "$["]', "'$[' is no JSONPath of RFC 9535"),
        ('topic = "p"\nname = "p"\nplain = true\nunit = "K"', "mqtt.probe 1.unit: "),
        ('topic = "p"\nname = "p"\nplain = true\nrange = [5, 4]', "range must be"),
        ('topic = "p"\nname = "p"\nplain = true\nrange = [0, inf]', "mqtt.probe 1.range"),
        ('topic = "p"\nname = "p"\nplain = true\nbattery = "$.b"', "battery is a path beside json"),
        ('topic = "p"\nname = "p"\nlayout = "x.toml"\nunit = "F"', "in the layout's fields"),
        ('topic = "p"\nname = "p"\nplain = true\nqos = 1', "no setting 'mqtt.probe 1.qos'"),
    ],
)
def test_a_mistake_is_named(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(ConfigError, match=re.escape(says)):
        load(tmp_path, probe(text))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ('name = "gate"\ntopic = "a/+"', 'name = "gate-yard"\ntopic = "b"'),
        ('name = "gate"\ntopic = "a"', 'name = "gate"\ntopic = "b"'),
    ],
)
def test_two_probes_whose_channels_could_be_the_same_are_refused(
    tmp_path: Path, one: str, other: str
) -> None:
    plain = "plain = true"
    for first, second in ((one, other), (other, one)):
        with pytest.raises(ConfigError, match="could mean the same channel"):
            load(tmp_path, probe(f"{first}\n{plain}\n[[mqtt.probe]]\n{second}\n{plain}"))


def test_names_that_only_begin_alike_are_no_trouble(tmp_path: Path) -> None:
    text = 'name = "gate"\ntopic = "a"\nplain = true\n[[mqtt.probe]]\n'
    text += 'name = "gate-yard"\ntopic = "b/+"\nplain = true'
    assert len(options(tmp_path, probe(text)).probes) == 2


def test_a_layout_that_is_missing_is_named(tmp_path: Path) -> None:
    settings = load(tmp_path, probe('topic = "p"\nname = "p"\nlayout = "none.toml"'))
    with pytest.raises(LayoutError, match=re.escape(str(tmp_path / "none.toml"))):
        settings.mqtt_options()
