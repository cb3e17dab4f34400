"""Verbs that print what the program knows, without a site."""
