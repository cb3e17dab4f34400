"""Days, windows and cycles: when and how long watering may run."""
