"""A bench's own answers copied into a folder, without numbers that name somebody, to be read again.

`copying.py` makes the copy, `places.py` says of what, `stripping.py` what is replaced in it;
`recorded_files.py` answers from it as `burnin.card.files.HostFiles` does of a bench,
`nvml_answers.py` as the driver's library does. Start with `copying.record_bench`.
"""
