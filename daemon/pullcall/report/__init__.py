"""The report of one cook and the comparison of several: facts in, text out."""
