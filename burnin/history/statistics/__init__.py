"""What weighs an answer: survival, control charts, exact shares, several tests at once.

Each file names its source. Nothing here knows of tables or cards.
"""
