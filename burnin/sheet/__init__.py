"""What a record becomes: plots, pages and the customer's sheet."""
