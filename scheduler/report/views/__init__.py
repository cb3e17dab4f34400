"""One view a verb."""
