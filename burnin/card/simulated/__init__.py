"""A simulated machine: physics behind the same files that a real bench shows."""
