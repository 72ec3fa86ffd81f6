"""Settings of the guards for a recording that nobody named a profile for.

A recording says of itself what its limits are (`limit_c`, `hotspot_limit_c`) and how the card is
cooled. What it is silent of:

- 90 °C is the limit: most desktop cards slow down at 83 to 95 °C (common practice, no source);
- the forecast aims at the limit itself, and the simple guards keep 0.5 K free below it (half a
  sensor step comes on top), with a lag of 0.3 s and a stop within 0.2 s: a recording's limit is
  meant as written, where a profile's keeps a margin of its own for a card nobody has seen;
- 15 K/s over 3 s is faster than any mounted cooler lets a die warm;
- a temperature must answer within 8 s to a rise of 80 W (`burnin.guard.stuck_sensor`), since a
  recording does not say when the card was worked and so cannot be found frozen.

The evaluation of the guards on scenarios (tests/evaluation) stands on these settings.
"""

from __future__ import annotations

from burnin.guard.stuck_sensor import ANSWERS_FROM_W, ANSWERS_WITHIN_S
from burnin.profile.guards import Guards

RECORDING_DEFAULTS = Guards(
    gpu_temp_limit_c=90.0,
    temp_margin_c=0.5,
    sensor_lag_s=0.3,
    stop_latency_s=0.2,
    temp_rate_limit_c_per_s=15.0,
    rate_window_s=3.0,
    stale_after_s=5.0,
    answers_from_w=ANSWERS_FROM_W,
    answers_within_s=ANSWERS_WITHIN_S,
    forecast=True,
    forecast_margin_c=0.0,
)
