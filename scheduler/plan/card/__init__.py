"""What to key into the controller."""
