"""Sentences of pages, pictures and calendars."""
