"""`burnin compare`: a comparison of records told as lines, as a table, or as JSON.

Start with `comparing.py`.
"""
