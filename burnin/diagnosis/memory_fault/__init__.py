"""Which fault of the memory explains failing words, and which rule on addresses separates them.

Failing words (`failing_words.py`) are looked at from four sides: where they lie (`reach.py`, with
the rules of `address_rule.py`: parities over `gf2.py`, remainders, pages), what became of them
(`word_looks.py`, `aliasing.py`), at which temperature, in which patterns. Beliefs (`beliefs.py`)
make probabilities of classes of that. A board file (`board_file.py`) tells the chip's name.
Pure but for `of_record.py`, which reads a record. Start to read with `explain_words.py`.
"""
