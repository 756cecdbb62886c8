"""What ``pullcall.toml`` says about the broker, and the probes that are heard through it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Self

from pydantic import StringConstraints, model_validator

from pullcall.bus.channels import SITE
from pullcall.bus.options import BrokerOptions, SiteOptions
from pullcall.errors import ConfigError
from pullcall.section import Port, Section

#: The usual ports of MQTT, without and with TLS (IANA service names "mqtt", "secure-mqtt").
_PLAIN, _SECURE = 1883, 8883


class MqttSection(Section):
    """The broker; without ``host`` there is none.

    ``site`` is this site's id in every topic, ``name`` what people read on a board. A password is
    written here or kept in a file.
    """

    host: Annotated[str, StringConstraints(max_length=253, pattern=r"^[^\s/]*$")] = ""
    port: Port | None = None
    tls: bool = True
    site: Annotated[str, StringConstraints(pattern=f"^({SITE.pattern})?$")] = ""
    name: Annotated[str, StringConstraints(max_length=40)] = ""
    user: str = ""
    password: str = ""
    password_file: Path | None = None
    ca: Path | None = None
    certificate: Path | None = None
    key: Path | None = None
    homie: bool = True

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.password and self.password_file:
            raise ValueError("give password or password_file, not both")
        if (self.certificate is None) != (self.key is None):
            raise ValueError("give certificate and key together")
        return self

    def broker(self) -> BrokerOptions | None:
        """How to reach the broker; None without one. Raises ConfigError."""
        if not self.host:
            return None
        return BrokerOptions(
            self.host,
            self.port or (_SECURE if self.tls else _PLAIN),
            self.tls,
            self.user or None,
            self._password(),
            self.ca,
            self.certificate,
            self.key,
        )

    def site_options(self) -> SiteOptions | None:
        """What this site publishes as; None where it does not."""
        if not self.host or not self.site:
            return None
        return SiteOptions(self.site, self.name or self.site, self.homie)

    def beside(self, folder: Path) -> Self:
        """The same with its files named from the configuration's own folder."""
        files = ("password_file", "ca", "certificate", "key")
        named = {name: getattr(self, name) for name in files}
        return self.model_copy(update={n: folder / f for n, f in named.items() if f is not None})

    def _password(self) -> str | None:
        if self.password_file is None:
            return self.password or None
        try:
            return self.password_file.read_text(encoding="utf-8").strip()
        except (OSError, UnicodeDecodeError) as exc:
            raise ConfigError(
                f"Cannot read {self.password_file} ({exc}): check [mqtt] password_file."
            ) from exc
