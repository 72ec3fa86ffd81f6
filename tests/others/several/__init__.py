"""Several cards of one bench, a night, the board and the history, as another hand attacked them."""
