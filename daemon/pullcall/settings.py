"""The configuration file, ``pullcall.toml``: checked whole, unknown keys are errors."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Literal, Self

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    StringConstraints,
    ValidationError,
    field_validator,
    model_validator,
)

from pullcall.bus.section import MqttSection
from pullcall.core.channel import is_channel
from pullcall.core.ranges import GRATE_C, is_meant
from pullcall.degrees import fahrenheit_to_celsius
from pullcall.errors import ConfigError, reason
from pullcall.events import CarryOver, CookHeader, FireSettings, PullBy, Range, SteakSettings
from pullcall.finding import sentence
from pullcall.outlets.options import LoudspeakerOptions, WebhookOptions
from pullcall.plan.durations import parse_duration, parse_range
from pullcall.plan.steps import check_names
from pullcall.plan.wall import window_times
from pullcall.section import Section
from pullcall.served_section import BoardSection, MetricsSection, PageSection
from pullcall.sources.bluetooth.options import BluetoothOptions
from pullcall.sources.layout import load_layouts
from pullcall.sources.mqtt.options import MqttOptions
from pullcall.sources.mqtt.topics import is_over_mqtt

_TEMPERATURE = re.compile(r"\s*(-?\d{1,9}(?:\.\d{1,9})?)\s*([CF])\s*", re.IGNORECASE)


def parse_temperature(text: object) -> object:
    """Celsius of a text such as "129 F" or "54 C". Raises ValueError for any other text."""
    match = _TEMPERATURE.fullmatch(text) if isinstance(text, str) else None
    if match is None:
        raise ValueError('write a temperature with its unit in quotes, for example "129 F"')
    number = float(match[1])
    return number if match[2].upper() == "C" else round(fahrenheit_to_celsius(number), 2)


def _checked(parse: Callable[[str], object]) -> Callable[[str], str]:
    """Keep a text that can be parsed as it is."""

    def check(text: str) -> str:
        parse(text)
        return text

    return check


def parse_channel(text: str) -> str:
    """A probe's channel, such as "AA:BB:CC:DD:EE:01/1". Raises ValueError for any other text."""
    if not is_channel(text):
        raise ValueError(
            'a channel is a device and a number, such as "AA:BB:CC:DD:EE:01/1": '
            "`pullcall probes` lists them"
        )
    return text


Temperature = Annotated[float, BeforeValidator(parse_temperature)]
Channel = Annotated[str, StringConstraints(max_length=80), AfterValidator(parse_channel)]


class LogSection(Section):
    """Where the cook log is kept; by default in the user's state folder."""

    path: Path | None = None


class BluetoothSection(Section):
    """Which adapter, which devices (all known kinds if empty), and declared layouts."""

    enabled: bool = True
    adapter: str | None = None
    only: tuple[str, ...] = ()
    layouts: tuple[Path, ...] = ()
    bthome_keys: dict[str, Annotated[str, StringConstraints(pattern="^[0-9a-fA-F]{32}$")]] = Field(
        default_factory=dict
    )


class SteakSection(Section):
    """A steak every new cook starts with; ``probe`` is the channel that sits in it."""

    name: Annotated[str, StringConstraints(min_length=1, max_length=40)]
    probe: Channel | None = None
    thickness_mm: Annotated[float, Field(ge=5, le=120)] = 32.0
    start: Temperature = 5.0
    pull: Temperature = 53.9
    target: Temperature | None = None
    pull_by: PullBy = PullBy.TEMPERATURE

    @model_validator(mode="after")
    def _check_ranges(self) -> Self:
        if not is_meant("pull_c", self.pull):
            raise ValueError("pull must lie between 86 F and 194 F")
        if not is_meant("start_c", self.start):
            raise ValueError("start must lie between -22 F and 104 F")
        if self.target is not None and not is_meant("target_c", self.target):
            raise ValueError("target must lie between 86 F and 203 F")
        if self.pull_by is PullBy.TARGET and self.target is None:
            raise ValueError('with pull_by = "target" give a target too')
        return self


class CookSection(Section):
    """How the cook works."""

    rest_on: Literal["rack", "board"] = "rack"
    carry_over: CarryOver = CarryOver.FORECAST


class PlanSection(Section):
    """The turn-in window, the moment in it to aim for, and the cook's own durations.

    ``aim`` is the share of the window that has passed at the moment aimed for.
    """

    window: Annotated[str, AfterValidator(_checked(window_times))] | None = None
    aim: Annotated[float, Field(ge=0, le=1)] = 1.0 / 3.0
    offset: Annotated[float, BeforeValidator(parse_duration), Field(ge=0, le=1800)] = 0.0
    durations: dict[str, Annotated[Range, BeforeValidator(parse_range)]] = Field(
        default_factory=dict
    )

    @field_validator("durations")
    @classmethod
    def _known_steps(cls, durations: dict[str, Range]) -> dict[str, Range]:
        check_names(durations)
        return durations


class FireSection(Section):
    """The probe at the grate, and the temperatures between which the fire is as it should be."""

    probe: Channel | None = None
    floor: Temperature = 260.0
    ceiling: Temperature = 398.9

    @model_validator(mode="after")
    def _check_order(self) -> Self:
        if self.floor >= self.ceiling:
            raise ValueError("the floor must lie below the ceiling")
        if self.floor < GRATE_C[0] or self.ceiling > GRATE_C[1]:
            raise ValueError("floor and ceiling must lie between 212 F and 1112 F")
        return self


class LoudspeakerSection(Section):
    """The loudspeaker of this machine: a command that plays a WAV file, or a folder to fill."""

    enabled: bool = True
    player: tuple[str, ...] = ()
    folder: Annotated[Path | None, BeforeValidator(lambda text: text or None)] = None
    voice: str = "en"


class WebhookSection(Section):
    """An address to which calls are posted, signed with a secret."""

    url: str = ""
    secret: str = ""
    backup_only: bool = False


class Settings(Section):
    """Everything ``pullcall.toml`` can say."""

    page: PageSection = PageSection()
    log: LogSection = LogSection()
    bluetooth: BluetoothSection = BluetoothSection()
    cook: CookSection = CookSection()
    plan: PlanSection = PlanSection()
    fire: FireSection = FireSection()
    loudspeaker: LoudspeakerSection = LoudspeakerSection()
    webhook: WebhookSection = WebhookSection()
    mqtt: MqttSection = MqttSection()
    board: BoardSection = BoardSection()
    metrics: MetricsSection = MetricsSection()
    steaks: Annotated[tuple[SteakSection, ...], Field(alias="steak")] = (
        SteakSection(name="left"),
        SteakSection(name="right"),
    )

    @model_validator(mode="after")
    def _check_steaks(self) -> Self:
        names = [s.name for s in self.steaks]
        probes = self._probes()
        if not 1 <= len(names) <= 2 or len(set(names)) != len(names):
            raise ValueError("give one or two [[steak]] sections whose names differ")
        if len(set(probes)) != len(probes):
            raise ValueError("two sections name the same probe")
        return self

    def bluetooth_options(self) -> BluetoothOptions:
        """What the collector is told. Raises LayoutError for a layout that cannot be used."""
        section = self.bluetooth
        return BluetoothOptions(
            adapter=section.adapter,
            only=tuple(address.upper() for address in section.only),
            layouts=load_layouts(section.layouts),
            bthome_keys={a.upper(): bytes.fromhex(k) for a, k in section.bthome_keys.items()},
        )

    def mqtt_options(self) -> MqttOptions | None:
        """What the listener to gateways is told; None without any. Raises ConfigError."""
        return self.mqtt.gateway_options(self._probes())

    def uses_bluetooth(self) -> bool:
        """Whether probes are looked for over Bluetooth.

        With a probe over MQTT in every steak none of ours is there, unless one is named: other
        cooks' probes are left alone, for most take only one connection.
        """
        over_mqtt = all(steak.probe and is_over_mqtt(steak.probe) for steak in self.steaks)
        has_named = bool(self.bluetooth.only or self.named_devices())
        return self.bluetooth.enabled and (has_named or not over_mqtt)

    def named_devices(self) -> tuple[str, ...]:
        """The Bluetooth addresses of the devices that the steaks' probes belong to."""
        named = (probe for probe in self._probes() if not is_over_mqtt(probe))
        return tuple(dict.fromkeys(probe.split("/")[0].upper() for probe in named))

    def _probes(self) -> list[str]:
        named = [*(steak.probe for steak in self.steaks), self.fire.probe]
        return [probe for probe in named if probe]

    def steak_settings(self) -> tuple[SteakSettings, ...]:
        """The steaks as the core knows them."""
        return tuple(_steak_settings(section) for section in self.steaks)

    def usual_cook(self) -> CookHeader:
        """What every new cook starts from; it has no id, start or window yet."""
        return CookHeader(
            cook="",
            started="",
            steaks=self.steak_settings(),
            rest_on=self.cook.rest_on,
            carry_over=self.cook.carry_over,
            aim_share=self.plan.aim,
            durations=MappingProxyType(dict(self.plan.durations)),
            offset_s=self.plan.offset,
            fire=FireSettings(self.fire.probe, self.fire.floor, self.fire.ceiling),
        )

    def loudspeaker_options(self) -> LoudspeakerOptions:
        """What the loudspeaker is told."""
        return LoudspeakerOptions(**self.loudspeaker.model_dump())

    def webhook_options(self) -> WebhookOptions:
        """What the webhook is told."""
        return WebhookOptions(**self.webhook.model_dump())

    def log_path(self) -> Path:
        """Where the cook log is: the file named, a service's state folder, or the user's."""
        return self.log.path or state_folder() / "cooks.db"


def _steak_settings(section: SteakSection) -> SteakSettings:
    return SteakSettings(
        section.name,
        thickness_mm=section.thickness_mm,
        start_c=section.start,
        pull_c=section.pull,
        target_c=section.target,
        channel=section.probe,
        pull_by=section.pull_by,
    )


def state_folder() -> Path:
    """Where logs are kept: systemd's folder for a service, else the user's state folder."""
    if service := os.environ.get("STATE_DIRECTORY"):
        return Path(service.split(":")[0])
    base = os.environ.get("XDG_STATE_HOME")
    return (Path(base) if base else Path.home() / ".local" / "state") / "pullcall"


def config_path() -> Path:
    """Where the configuration is looked for when none is named."""
    base = os.environ.get("XDG_CONFIG_HOME")
    return (Path(base) if base else Path.home() / ".config") / "pullcall" / "pullcall.toml"


def load_settings(path: Path | None) -> Settings:
    """Read ``path``, or the usual place, or the defaults. Raises ConfigError with one sentence."""
    source = path or config_path()
    if path is None and not source.exists():
        return Settings()
    try:
        with source.open("rb") as file:
            settings = Settings.model_validate(tomllib.load(file))
        return _beside(source.parent, settings)
    except OSError as exc:
        raise ConfigError(f"Cannot read {source} ({exc.strerror}): check --config.") from exc
    except ValidationError as exc:
        raise ConfigError(f"{source}: {'; '.join(map(_sentence, exc.errors()))}.") from exc
    except (ValueError, RecursionError) as exc:
        # Not TOML, not UTF-8, a number of thousands of digits, tables within tables without end.
        raise ConfigError(
            f"{source} is not valid TOML ({exc}): texts and temperatures stand in quotes."
        ) from exc


def config_text(path: Path | None) -> str | None:
    """The text of the configuration, if there is one. Raises ConfigError."""
    source = path or config_path()
    if path is None and not source.exists():
        return None
    try:
        return source.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as exc:
        raise ConfigError(f"Cannot read {source} ({reason(exc)}): check --config.") from exc


def _beside(folder: Path, settings: Settings) -> Settings:
    """Files and folders are named from the configuration's own folder."""
    layouts = tuple(folder / layout for layout in settings.bluetooth.layouts)
    bluetooth = settings.bluetooth.model_copy(update={"layouts": layouts})
    page = settings.page.beside(folder)
    speaker = settings.loudspeaker
    if speaker.folder is not None:
        speaker = speaker.model_copy(update={"folder": folder / speaker.folder})
    changed = {
        "bluetooth": bluetooth,
        "loudspeaker": speaker,
        "page": page,
        "mqtt": settings.mqtt.beside(folder),
        "board": settings.board.beside(folder),
    }
    return settings.model_copy(update=changed)


def _sentence(error: object) -> str:
    """One of pydantic's findings as a person would say it."""
    assert isinstance(error, dict)
    place = ""
    for part in error["loc"]:
        place += f" {part + 1}" if isinstance(part, int) else f".{part}" if place else part
    if error["type"] == "extra_forbidden":
        return f"there is no setting {place!r} (config/pullcall.toml shows them all): remove it"
    message = sentence(error)
    return f"{place}: {message}" if place else message
