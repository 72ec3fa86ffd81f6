"""The sheets of a ticket: one page for the customer, all that is known for the shop.

`ticket_facts.py` is what whoever keeps tickets fills in; `ticket_verdict.py` says what card and
record come to; `customer.py` and `internal.py` compose the sheets, `customer_pages.py` and
`internal_pages.py` print them. They know records, catalogues and the sheet of a run.
"""
