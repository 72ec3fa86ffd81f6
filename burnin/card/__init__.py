"""The card under test, read through one Protocol."""
