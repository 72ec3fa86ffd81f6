"""Leave to load the card, where several cards of a bench are burnt in together.

A stage that works its card says what it may draw at most and which links it fills (`need.py`), and
waits until whoever keeps the bench's power gives leave (`waiting.py`). Where a card is burnt in
alone nobody needs to be asked. `giver.py` is the seam, `of_batch.py` the end of the socket on a
card's side, `letters.py` what goes over it. It knows stages, cards and profiles; the other end,
which shares the power out, is `run/batch`. Start with `giver.py`.
"""
