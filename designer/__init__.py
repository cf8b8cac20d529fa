"""From a salvaged commutator motor to a safe fixed-speed supply."""
