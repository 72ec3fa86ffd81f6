"""Where a card's values come from: the kernel's files (`linux.py`) and NVML (`nvml.py`).

Each is a member of the seam `burnin.sources`; `burnin/card/source.py` says what such a member is.
`linux_card.py` and `nvml_card.py` are their readers of one card; what each file or answer means is
in the others, `nvml_errors.py` is the table of NVML's return codes.
"""
