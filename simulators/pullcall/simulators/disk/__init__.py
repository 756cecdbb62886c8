"""A disk that fails, fills up or hangs when it is told to."""
