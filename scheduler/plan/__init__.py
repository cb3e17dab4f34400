"""When and how long each zone runs, month by month."""
