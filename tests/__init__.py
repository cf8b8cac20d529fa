"""Tests mirror designer/; helpers that several of them share stand at the top."""
