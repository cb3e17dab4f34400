"""Words on heads, nozzles and the supply."""
