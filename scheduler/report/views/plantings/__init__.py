"""New plantings: their steps as tables, as data, and as they are keyed in."""
