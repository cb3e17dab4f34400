"""Plans and findings as text, tables and data for programs, in the reader's units."""
