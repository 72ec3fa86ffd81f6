"""Alterations of a results folder that `burnin verify` must tell, and lawful changes it must not.

The forger may write anything under the results folder; he has neither the shop's private key nor
the paper already handed out. `story` goes the honest way with the command, each case of the lists
alters a copy of what it left, `run_cases` carries it out, `test_alterations` holds the tool to it.
"""
