"""This machine on its network: addresses, names, and what is announced."""
