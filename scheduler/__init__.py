"""Run-time scheduler for sprinkler controllers: library behind the `scheduler` verbs."""
