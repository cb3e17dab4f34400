"""Workbooks, calendars, and the handbook of what the program knows."""
