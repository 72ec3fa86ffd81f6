"""What keeps a card from starting, or robs its rails: by starts, meter, ticket and sense lines.

Apart from the link's model, which is asked of looks at a link that runs: here are the faults of
clock, reset, presence, supply and sense contacts and of the rails behind them. `with_link.py` makes
one answer of both.
"""
