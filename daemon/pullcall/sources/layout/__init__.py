"""Declared layouts: packets of devices that follow no open standard."""

from pullcall.sources.layout.decode import FieldValue, decode
from pullcall.sources.layout.load import load_layout, load_layouts
from pullcall.sources.layout.model import DeviceMatch, Field, Layout, Where

__all__ = [
    "DeviceMatch",
    "Field",
    "FieldValue",
    "Layout",
    "Where",
    "decode",
    "load_layout",
    "load_layouts",
]
