"""Corners and Monte Carlo."""
