"""Words on what the controller does, and what to key into it."""
