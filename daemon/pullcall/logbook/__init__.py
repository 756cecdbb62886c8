"""The logbook: cooks as rows, notes of people, words found in them, and all of it as a table."""
