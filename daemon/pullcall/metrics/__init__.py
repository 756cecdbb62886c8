"""What a site and a board are measured by, and how that is told to whoever scrapes it."""
