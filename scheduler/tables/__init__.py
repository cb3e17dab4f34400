"""The package's own tables as CSV: plants, soils, slopes, heads, odd and even dates."""
