"""Certificates for the page: made here by an authority of this site alone, or the cook's own."""
