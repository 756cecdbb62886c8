"""Sources of readings: Bluetooth, declared layouts, simulated probes."""
