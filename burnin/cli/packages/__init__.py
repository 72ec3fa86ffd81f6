"""What this installation is made of: packages, their licences, their lock, a bill of all of it.

Here live the locks (``lock.<what for>.txt``: one for running, one for each extra, one for
building), beside the code and in every installation, so that each can be checked where it stands.
Everything is read from the metadata of what is installed and from these files; nothing is asked of
any network. `installed.py` finds the packages, `licences.py` and `copyleft.py` read their licences,
`locks.py` the locks, `files_on_disk.py` the files, `check.py` compares, `bill.py` makes the bill of
materials. Start reading at `commands.py`.
"""
