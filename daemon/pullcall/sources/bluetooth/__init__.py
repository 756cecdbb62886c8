"""Probes over Bluetooth: a collector on unmodified bleak, and its decisions without I/O."""

from pullcall.sources.bluetooth.options import BluetoothOptions, Timings
from pullcall.sources.bluetooth.source import BluetoothSource

__all__ = ["BluetoothOptions", "BluetoothSource", "Timings"]
