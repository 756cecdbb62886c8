"""The configuration file, and its text without its secrets."""

from __future__ import annotations

import math
from contextlib import suppress
from pathlib import Path

from pullcall.core.cook import Cook
from pullcall.errors import ConfigError
from pullcall.log.header import header_record, parse_header
from pullcall.log.secrets_out import without_secrets
from pullcall.settings import load_settings
from tests.fuzz.honest import check_json, check_words
from tests.fuzz.scratch import scratch
from tests.fuzz.target import Target

_EXAMPLE = (Path(__file__).parents[3] / "config" / "pullcall.toml").read_bytes()
_FOLDER = scratch()
_FILE = _FOLDER / "pullcall.toml"
_SECRETS = (
    b'[webhook]\nurl="https://pit.example/x?t=whisper"\nsecret="hickory"\n[bluetooth]\n'
    b'bthome_keys={"AA:BB:CC:DD:EE:01"="0123456789abcdef0123456789abcdef"}\n[mqtt]\nhost="h"\n'
    b'password="whisper-too"\n[board]\nsecret="' + b"ab" * 32 + b'"\n[metrics]\ntoken="'
    b'0123456789abcdefgh"\n'
)


def check(data: bytes) -> None:
    """A file; what can be set makes a cook that can be logged and read back."""
    _FILE.write_bytes(data)
    without_secrets(data.decode("utf-8", "replace"))
    try:
        settings = load_settings(_FILE)
        header = settings.usual_cook()
        settings.loudspeaker_options()
        settings.webhook_options()
        settings.named_devices()
    except ConfigError as error:
        check_words(str(error)[:1900])
        return
    with suppress(ConfigError):
        settings.bluetooth_options()
        for probe in settings.mqtt.probes:
            probe.declared()
    record = header_record(header) | {"cook": "c", "started": "2026-06-13T13:40:00+00:00"}
    check_json(record)
    again = parse_header(record)
    assert (again.steaks, again.fire, again.durations) == (
        header.steaks,
        header.fire,
        header.durations,
    )
    assert all(math.isfinite(steak.start_c) for steak in header.steaks)
    Cook(again)


def _uncommented(text: bytes) -> bytes:
    return b"\n".join(line.removeprefix(b"# ") for line in text.splitlines())


TARGET = Target(
    check,
    (
        _SECRETS,
        _EXAMPLE[:2500],
        b'[[steak]]\nname="left"\nprobe="AA:01/1"\nthickness_mm=38\nstart="40 F"\npull="129 F"\n'
        b'target="134 F"\npull_by="target"\n[plan]\nwindow="14:00-14:30"\naim=0.5\noffset="30 s"\n'
        b'[plan.durations]\nwalk="1-2 min"\n[fire]\nprobe="G/1"\nfloor="500 F"\nceiling="750 F"\n',
        b'[[mqtt.probe]]\ntopic="gate/+"\nname="g"\njson=["$.t"]\nbattery="$.b"\nunit="F"\nrange=[0,9]\n',
        b'[[steak]]\nname="x"\nstart="' + b"9" * 400 + b' F"\n',
        b"a=" + b"[" * 1200,
        b"a=" + b"9" * 5000,
        b'[bluetooth]\nlayouts=["\\u0000"]\n',
    ),
    (
        b"[page]", b"[log]", b"[cook]", b"[plan]", b"[fire]", b"[loudspeaker]", b"[webhook]",
        b"[mqtt]", b"[board]", b"[metrics]", b"[bluetooth]", b"[[steak]]", b"[[mqtt.probe]]",
        b"name=", b"probe=", b'"129 F"', b"port=", b"inf", b"nan", b"2026-06-13", b"0xFF", b"\n",
    ),
    longest=6000, weight=2,
)  # fmt: skip
