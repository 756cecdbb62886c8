"""Simulators as real code: steak and fire, probes, a virtual Bluetooth adapter."""
