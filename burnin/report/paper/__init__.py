"""Paper and pictures that sheets share, made of plain data.

`typesetting.py` sets a template as PDF, `edge_drawing.py` draws the edge connector as SVG, `qr.py`
makes the square code. It knows templates and contacts, and nothing of records.
"""
