"""The cook log: the source of truth, append-only."""
