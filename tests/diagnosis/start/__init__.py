"""Tests of what keeps a card from starting."""
