"""What a scenario may name as wrong, and what follows from each cause."""
