"""What people ask once the controller is set: with less water, and what to doubt."""
