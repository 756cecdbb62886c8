"""Marks proposed from the readings, for the cook to confirm or dismiss."""
