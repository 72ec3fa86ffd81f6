"""What is wrong at display outputs, from what the display stage saw to causes."""
