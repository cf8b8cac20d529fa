"""Data with a source column."""
