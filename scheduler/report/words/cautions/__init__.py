"""A sentence for each code of cautions, in modules by noun."""
