"""What leaves with the card, signed, and how it is checked later."""
