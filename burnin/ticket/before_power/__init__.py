"""What is measured on the unpowered card, and whether power may be put on it."""
