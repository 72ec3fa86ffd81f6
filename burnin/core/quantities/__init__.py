"""What a person may type as a measured value: numbers, units, uncertainties, codes, spellings.

Start with `quantity.py`.
"""
