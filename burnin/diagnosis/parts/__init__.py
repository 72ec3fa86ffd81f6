"""What failed beside link and outputs, part by part: identity, power, heat, memory, arithmetic.

Each part tells its causes with their probabilities and the stages that it speaks for.
"""
