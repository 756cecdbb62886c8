"""The thin async shell around the core: one cook place, live or replayed."""
