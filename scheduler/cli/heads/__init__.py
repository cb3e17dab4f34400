"""Verbs on heads and nozzles."""
