"""The work that a card is put to."""
