"""How people write what a meter shows, by a hand that has not read how it is read."""
