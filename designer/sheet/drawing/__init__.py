"""Circuit diagrams, drawn side by side: one block for each side of a circuit, and the pen they share."""
