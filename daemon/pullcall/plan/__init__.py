"""The cook's day, backward from the turn-in window, and the chance to make it."""
