"""Views of the working: lines that a pocket calculator repeats."""
