"""The card's heat, identified while it works: rows of telemetry in, forecast and state out.

Here live the model (`heat_network`), what is believed beforehand (`priors`), the filters that learn
(`filter_bank`, led by `estimator`), the look ahead (`forecast`), the verdict
(`cooling_verdict`) and the ramp that plans itself (`ramp_planner`). The room may know the
core alone: no sample, no guard, no profile, no card.

Start with MODEL.md, then `inputs.py` and `estimator.py`.
"""
