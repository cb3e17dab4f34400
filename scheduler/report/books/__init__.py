"""Workbooks and calendars."""
