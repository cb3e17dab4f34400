"""Which nozzle on each head."""
