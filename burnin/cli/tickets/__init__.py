"""Commands of one repair: `commands.py` until the first light, `later_commands.py` after it,
`told.py` for their language and for what each ends in."""
