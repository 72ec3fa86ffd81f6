"""What is wrong with a card's supply, from steps of power and meter to causes."""
