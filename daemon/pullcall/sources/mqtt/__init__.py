"""Probes that gateways pass on over MQTT; all but ``source.py`` runs in a process of its own."""
