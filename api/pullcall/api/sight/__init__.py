"""What a visitor sees of the site: everything at once, or late, or without targets."""
