"""New plantings: steps by dates from planting to the table's own setting."""
