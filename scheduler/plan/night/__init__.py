"""One watering night on the clock."""
