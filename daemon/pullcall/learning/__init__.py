"""What a cook's own log teaches for the next cook, and what the cook chose to take from it."""
