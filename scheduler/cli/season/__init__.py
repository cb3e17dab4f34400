"""Verbs that go by the weather that was."""
