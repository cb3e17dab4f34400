"""Forms that people fill in: fields, and the files that hold them."""
