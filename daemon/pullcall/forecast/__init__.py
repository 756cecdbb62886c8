"""Forecasts of the pull and the peak from readings, spots and marks."""
