"""Which fault explains a record: hypotheses, their probabilities, and what to measure next."""
