"""Soil: how fast water goes in, and how much the root zone stores."""
