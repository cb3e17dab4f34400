"""Words of the handbook, and of weather that was fetched."""
