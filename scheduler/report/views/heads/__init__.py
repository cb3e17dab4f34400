"""Views of heads and nozzles."""
