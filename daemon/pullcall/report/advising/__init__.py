"""What the figures of a cook suggest: one file for each part of the day."""
