"""Where the water falls, from where heads stand."""
