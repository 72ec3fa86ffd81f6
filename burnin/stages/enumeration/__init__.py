"""The card is there, as itself."""
