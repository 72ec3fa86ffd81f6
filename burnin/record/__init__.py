"""What a run leaves on disk, and how it is read back: the one writer and the one reader.

`schema/` says what is in the files, `writer.py` puts events there, `reader.py` gives them back with
their condition, `migrations.py` knows older formats, `sinks.py` hands a run's events to whoever
else listens. Knows the core only, and judges nothing. Start with `reader.py`.
"""
