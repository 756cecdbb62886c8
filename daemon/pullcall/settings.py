"""The configuration file, ``pullcall.toml``: checked whole, unknown keys are errors."""

from __future__ import annotations

import os
import re
import tomllib
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    ValidationError,
    model_validator,
)

from pullcall.core.checks import is_channel
from pullcall.errors import ConfigError
from pullcall.events import CarryOver, SteakSettings
from pullcall.sources.bluetooth.options import BluetoothOptions
from pullcall.sources.layout import load_layouts

_TEMPERATURE = re.compile(r"\s*(-?\d+(?:\.\d+)?)\s*([CF])\s*", re.IGNORECASE)


def parse_temperature(text: object) -> object:
    """Celsius of a text such as "129 F" or "54 C". Raises ValueError for any other text."""
    match = _TEMPERATURE.fullmatch(text) if isinstance(text, str) else None
    if match is None:
        raise ValueError('write a temperature with its unit in quotes, for example "129 F"')
    number = float(match[1])
    return number if match[2].upper() == "C" else round((number - 32.0) / 1.8, 2)


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


class _Section(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class PageSection(_Section):
    """Where the page is served and in which unit it first shows temperatures."""

    host: str = "127.0.0.1"
    port: Annotated[int, Field(ge=1, le=65535)] = 8317
    unit: Literal["F", "C"] = "F"


class LogSection(_Section):
    """Where the cook log is kept; by default in the user's state folder."""

    path: Path | None = None


class BluetoothSection(_Section):
    """Which adapter, which devices (all known kinds if empty), and declared layouts."""

    enabled: bool = True
    adapter: str | None = None
    only: tuple[str, ...] = ()
    layouts: tuple[Path, ...] = ()
    bthome_keys: dict[str, Annotated[str, StringConstraints(pattern="^[0-9a-fA-F]{32}$")]] = {}


class SteakSection(_Section):
    """A steak every new cook starts with; ``probe`` is the channel that sits in it."""

    name: Annotated[str, StringConstraints(min_length=1, max_length=40)]
    probe: Channel | None = None
    thickness_mm: Annotated[float, Field(ge=5, le=120)] = 32.0
    start: Temperature = 5.0
    pull: Temperature = 53.9
    target: Temperature | None = None

    @model_validator(mode="after")
    def _check_ranges(self) -> Self:
        if not 30.0 <= self.pull <= 90.0:
            raise ValueError("pull must lie between 86 F and 194 F")
        return self


class CookSection(_Section):
    """How the cook works."""

    rest_on: Literal["rack", "board"] = "rack"
    carry_over: CarryOver = CarryOver.FORECAST


class Settings(_Section):
    """Everything ``pullcall.toml`` can say."""

    page: PageSection = PageSection()
    log: LogSection = LogSection()
    bluetooth: BluetoothSection = BluetoothSection()
    cook: CookSection = CookSection()
    steaks: Annotated[tuple[SteakSection, ...], Field(alias="steak")] = (
        SteakSection(name="left"),
        SteakSection(name="right"),
    )

    @model_validator(mode="after")
    def _check_steaks(self) -> Self:
        names = [s.name for s in self.steaks]
        probes = [s.probe for s in self.steaks if s.probe]
        if not 1 <= len(names) <= 2 or len(set(names)) != len(names):
            raise ValueError("give one or two [[steak]] sections whose names differ")
        if len(set(probes)) != len(probes):
            raise ValueError("two [[steak]] sections name the same probe")
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

    def named_devices(self) -> tuple[str, ...]:
        """The addresses of the devices that the steaks' probes belong to."""
        channels = [s.probe for s in self.steaks if s.probe]
        return tuple(dict.fromkeys(channel.split("/")[0].upper() for channel in channels))

    def steak_settings(self) -> tuple[SteakSettings, ...]:
        """The steaks as the core knows them."""
        return tuple(
            SteakSettings(s.name, s.thickness_mm, s.start, s.pull, s.target, s.probe)
            for s in self.steaks
        )

    def log_path(self) -> Path:
        """Where the cook log is: the file named, a service's state folder, or the user's."""
        return self.log.path or state_folder() / "cooks.db"


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
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as exc:
        raise ConfigError(f"{source} is not valid TOML: {exc}.") from exc
    except ValidationError as exc:
        raise ConfigError(f"{source}: {'; '.join(map(_sentence, exc.errors()))}.") from exc


def _beside(folder: Path, settings: Settings) -> Settings:
    """Layout files are named from the folder of the configuration, not from where one stands."""
    layouts = tuple(folder / layout for layout in settings.bluetooth.layouts)
    bluetooth = settings.bluetooth.model_copy(update={"layouts": layouts})
    return settings.model_copy(update={"bluetooth": bluetooth})


def _sentence(error: object) -> str:
    """One of pydantic's findings as a person would say it."""
    assert isinstance(error, dict)
    place = ""
    for part in error["loc"]:
        place += f" {part + 1}" if isinstance(part, int) else f".{part}" if place else part
    if error["type"] == "extra_forbidden":
        return f"there is no setting {place!r} (config/pullcall.toml shows them all): remove it"
    message = str(error["msg"]).removeprefix("Value error, ")
    return f"{place}: {message}" if place else message
