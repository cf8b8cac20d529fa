"""The motor: flux curve, model, warming."""
