"""Files that people write, checked field by field, into one Site."""
