"""The routes of a board, one file per noun. Streams are those of a site."""
