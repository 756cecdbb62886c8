"""A Bluetooth adapter with no radio: virtual probes served to any program that speaks to BlueZ."""
