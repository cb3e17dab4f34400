"""The working of one zone and month."""
