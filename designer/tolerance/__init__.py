"""Corners and Monte Carlo: what spreads and how it is drawn, states solved jointly, statistics. Numbers only."""
