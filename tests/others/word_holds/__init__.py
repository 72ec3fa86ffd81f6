"""Attempts to get a pass that is not earned, or a fail that is the bench's; drawn from the trade.

`unearned_pass.toml` and `bench_blamed.toml` hold the cases, `controls.toml` sound cards for which
the word must come; `run_cases` carries them out, `test_cases` holds the tool to them.
"""
