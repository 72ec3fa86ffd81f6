"""What all rooms speak: readings, samples, events, verdicts, time, errors. Knows no other room."""
