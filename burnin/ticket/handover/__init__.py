"""What leaves with the card: two sheets, signed, and how they are checked later.

`handover.py` makes the folder from `facts_for_sheets.py` (a ticket as the sheets take it),
`signing.py` signs lists of checksums and verifies them, `checking.py` checks a folder or a sheet
with all that it stands on. Start with `handover.py`.
"""
