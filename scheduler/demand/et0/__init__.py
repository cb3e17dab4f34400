"""Reference ET: the equations, and the one chain that uses them."""
