"""What the technician sees in the terminal: a subscriber to the run's events."""
