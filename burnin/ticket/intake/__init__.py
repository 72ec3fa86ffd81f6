"""What people put on a ticket by hand: intake, damage, photos, repairs.

Everything is checked whole before a line is written. Knows the log and the shop. Start with
`taking_in.py`.
"""
