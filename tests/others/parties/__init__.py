"""Who is at fault: benches with a known fault, and the party that the tool names first.

Drawn from the trade, the standards and the rules, without a look at the code that is judged.
"""
