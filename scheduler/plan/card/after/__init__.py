"""What follows once programs are found: fillings by hand, and water that is spared."""
