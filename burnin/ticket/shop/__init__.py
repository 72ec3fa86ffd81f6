"""The shop: its file (name, address, languages, warranty) and its key.

Knows nothing of tickets. Start with `shop_file.py`.
"""
