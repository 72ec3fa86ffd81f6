"""The sheets of a ticket: the customer's page and the shop's own."""
