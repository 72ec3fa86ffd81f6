"""A result repeats to the bit while the card is loaded."""
