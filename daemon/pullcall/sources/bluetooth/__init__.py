"""Probes over Bluetooth: a collector on unmodified bleak, and its decisions without I/O."""

from pullcall.sources.bluetooth.options import BluetoothOptions
from pullcall.sources.bluetooth.source import BluetoothSource
from pullcall.sources.timings import Timings

__all__ = ["BluetoothOptions", "BluetoothSource", "Timings"]
