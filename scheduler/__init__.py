"""Run-time scheduler for sprinkler controllers."""
