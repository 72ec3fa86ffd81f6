"""The bench on a stick: an image that starts any computer into the bench, made and looked at.

Here live the image's layout and its making (`layout.py`, `build.py`), what is pure in it (`gpt.py`,
`bios_start.py`, `verity.py`, `menu.py`), and its reading back (`reading_back.py`). What lies in the
image's root and is no Python lies in `root/`, where `places.toml` says what goes where. What the
technician sees on the stick is `cli/stick`. It knows the core and nothing of cards or records.
"""
