"""Periodic steady states and transients: numpy, SI floats, arrays of operating points."""
