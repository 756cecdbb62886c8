"""What ``pullcall.toml`` says about a probe that a gateway passes on."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints, model_validator

from pullcall.section import Section
from pullcall.sources.layout import load_layout
from pullcall.sources.mqtt.options import GatewayProbe
from pullcall.sources.mqtt.packet import MOST_CHANNELS
from pullcall.sources.mqtt.paths import compile_path
from pullcall.sources.mqtt.topics import TopicFilter, check_filter


def _path(text: str) -> str:
    compile_path(text)
    return text


def _listed(given: object) -> object:
    """One path is a list of one."""
    return [given] if isinstance(given, str) else given


Name = Annotated[str, StringConstraints(pattern="^[A-Za-z0-9]([A-Za-z0-9_-]{0,22}[A-Za-z0-9])?$")]
JsonPath = Annotated[str, AfterValidator(_path)]
Bound = Annotated[float, Field(allow_inf_nan=False, ge=-1e5, le=1e5)]


class MqttProbeSection(Section):
    """A topic filter, and one of three ways to read what comes: ``json``, ``layout``, ``plain``.

    Of a ``layout`` only its fields count.
    """

    topic: Annotated[str, AfterValidator(check_filter)]
    name: Name
    paths: Annotated[
        tuple[JsonPath, ...],
        BeforeValidator(_listed),
        Field(alias="json", max_length=MOST_CHANNELS),
    ] = ()
    battery: JsonPath | None = None
    layout: Path | None = None
    plain: bool = False
    unit: Literal["F", "C"] | None = None
    range: tuple[Bound, Bound] | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if sum((bool(self.paths), self.layout is not None, self.plain)) != 1:
            raise ValueError("give exactly one of json, layout, plain = true")
        if self.layout is not None and (self.unit or self.range):
            raise ValueError("unit and range stand in the layout's fields: remove them here")
        if self.battery is not None and not self.paths:
            raise ValueError("battery is a path beside json: remove it here")
        if self.range is not None and self.range[0] >= self.range[1]:
            raise ValueError("range must be [lowest, highest]")
        return self

    def may_be(self, name: str) -> bool:
        """Whether a probe of this name could have a channel of the same name as one of this."""
        has_devices = TopicFilter(self.topic).has_devices
        return name == self.name or (has_devices and name.startswith(f"{self.name}-"))

    def beside(self, folder: Path) -> Self:
        """The same with its file named from the configuration's own folder."""
        if self.layout is None:
            return self
        return self.model_copy(update={"layout": folder / self.layout})

    def declared(self) -> GatewayProbe:
        """What the listener is told. Raises LayoutError."""
        return GatewayProbe(
            self.name,
            self.topic,
            self.paths,
            self.battery,
            None if self.layout is None else load_layout(self.layout),
            self.unit or "C",
            self.range,
        )
