"""Every error that the command can give, made by real bad input and read in both languages."""
