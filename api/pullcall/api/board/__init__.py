"""What `pullcall board` serves: one list of many sites, and each site's own page, to look at."""
