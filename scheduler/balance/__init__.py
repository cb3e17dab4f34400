"""The ground, day by day, through years of weather."""
