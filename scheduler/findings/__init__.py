"""What `check` says, ranked by what it costs."""
