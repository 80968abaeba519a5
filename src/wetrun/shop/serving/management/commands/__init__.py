"""prepare."""
