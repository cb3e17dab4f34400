"""The nozzle plan into precipitation rates."""
