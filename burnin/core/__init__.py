"""What all rooms speak: readings, samples, events, verdicts, time and errors. Knows no other room."""
