"""A board: many sites, mirrored from what they publish, in one list of what needs somebody."""
