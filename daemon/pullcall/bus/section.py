"""What ``pullcall.toml`` says about the broker, and the probes that are heard through it."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Self

from pydantic import AfterValidator, Field, StringConstraints, model_validator

from pullcall.bus.options import SITE, BrokerOptions, SiteOptions
from pullcall.bus.trust import context
from pullcall.errors import ConfigError, reason
from pullcall.section import Port, Section
from pullcall.sources.mqtt.options import MqttOptions
from pullcall.sources.mqtt.section import MqttProbeSection
from pullcall.sources.mqtt.topics import is_over_mqtt

#: The usual ports of MQTT, without and with TLS (IANA service names "mqtt", "secure-mqtt").
_PLAIN, _SECURE = 1883, 8883


def _site(text: str) -> str:
    if text and SITE.fullmatch(text) is None:
        raise ValueError(
            "a site's id has up to 32 small letters, digits and hyphens, such as north-2; what "
            "people read is its name"
        )
    return text


class MqttSection(Section):
    """The broker; without ``host`` there is none.

    ``site`` is this site's id in every topic, ``name`` what people read on a board. A password is
    written here or kept in a file.
    """

    host: Annotated[str, StringConstraints(max_length=253, pattern=r"^[^\s/]*$")] = ""
    port: Port | None = None
    tls: bool = True
    site: Annotated[str, AfterValidator(_site)] = ""
    name: Annotated[str, StringConstraints(max_length=40)] = ""
    user: str = ""
    password: str = ""
    password_file: Path | None = None
    ca: Path | None = None
    certificate: Path | None = None
    key: Path | None = None
    homie: bool = True
    probes: Annotated[tuple[MqttProbeSection, ...], Field(alias="probe", max_length=32)] = ()

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.password and self.password_file:
            raise ValueError("give password or password_file, not both")
        if (self.certificate is None) != (self.key is None):
            raise ValueError("give certificate and key together")
        return self

    @model_validator(mode="after")
    def _probes_differ(self) -> Self:
        for n, probe in enumerate(self.probes):
            for other in (*self.probes[:n], *self.probes[n + 1 :]):
                if probe.may_be(other.name):
                    raise ValueError(
                        f"the probes {probe.name!r} and {other.name!r} could mean the same "
                        f"channel: rename one"
                    )
        return self

    def broker(self) -> BrokerOptions | None:
        """How to reach the broker; None without one. Raises ConfigError."""
        if not self.host:
            return None
        options = BrokerOptions(
            self.host,
            self.port or (_SECURE if self.tls else _PLAIN),
            self.tls,
            self.user or None,
            self._password(),
            self.ca,
            self.certificate,
            self.key,
        )
        context(options)  # files that are none are found now, not in the middle of a cook
        return options

    def site_options(self) -> SiteOptions | None:
        """What this site publishes as; None where it does not."""
        if not self.host or not self.site:
            return None
        return SiteOptions(self.site, self.name or self.site, self.homie)

    def gateway_options(self, channels: Iterable[str]) -> MqttOptions | None:
        """What the listener to gateways is told; None without a broker or a probe.

        ``channels`` are those that the settings name. Raises ConfigError, LayoutError.
        """
        broker = self.broker()
        if broker is None or not self.probes:
            return None
        probes = tuple(probe.declared() for probe in self.probes)
        return MqttOptions(broker, probes, tuple(filter(is_over_mqtt, channels)))

    def beside(self, folder: Path) -> Self:
        """The same with its files named from the configuration's own folder."""
        files = ("password_file", "ca", "certificate", "key")
        named = {name: getattr(self, name) for name in files}
        update = {n: folder / f for n, f in named.items() if f is not None}
        probes = tuple(probe.beside(folder) for probe in self.probes)
        return self.model_copy(update={**update, "probes": probes})

    def _password(self) -> str | None:
        if self.password_file is None:
            return self.password or None
        try:
            return self.password_file.read_text(encoding="utf-8").strip()
        except (OSError, UnicodeDecodeError) as exc:
            raise ConfigError(
                f"Cannot read {self.password_file} ({reason(exc)}): check [mqtt] password_file."
            ) from exc
