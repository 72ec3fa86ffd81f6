"""Scenarios of cards under load, drawn from physics and the trade, to judge a guard by.

`scenario(seed)` gives a `Scenario`, always the same for the same seed: `rows` (what the guard
reads: time, die, hottest point, power, energy, plan, fan; NaN where a row misses a value, None
where a bench has no such sensor), `bench` (what is known beforehand) and `truth` (for the judge
alone). `stopped_at(t)` continues the physics after a stop decided at `t` seconds, whose load is
gone `truth.stop_latency_s` later. `truth.latest_stop_s` is the oracle: the latest stop after
which nothing true ever leaves its limit, watched for 30 s from the unloading.

Written without sight of any guard. Seeds 0 to 9999 may be tuned on. Seeds of 100000 and above are
held out: nobody looks at them before everything is set.

What is drawn, and from where (thermal.md: the project's thermal reference, its own estimates;
recorded: `load_steps.csv` and `whole_runs`; the rest is common practice, no source):

- Kinds: air with 2 to 4 fans in a case or on an open bench, blower, passive in a server's stream,
  block on an open supply, block with pump and radiator, block without coolant. Shares 30, 11, 25,
  10, 16, 8 %. 72 to 1,000 W. Resistances and capacities: thermal.md, see `benches`. Chassis air
  that speeds up as it warms by 0 to 150 %: recorded on one host (74 to 73 °C at 700 W). Fans
  driven by the die, the chassis air, the loop, the host or nothing; fans that rest when cool.
- Chip: leakage 2 to 10 % of the rated power at 45 °C, a factor e in 30 to 60 K (recorded: 0.7 W/K
  at idle on 700 W), boost 0.03 to 0.2 % less per kelvin, power cap (recorded), throttling from 80
  to 95 °C on three cards of ten, shut-off from 110 to 124 °C, after which rows are empty.
- Loads: stairs, ramps, holds, sudden steps, bursts of 10 ms to 2 s, mixed work, the order of a
  shop's run (recorded); held to 1.2 % or set by work alone (7 %); rests, warm starts and records
  begun under load. Half of the benches know their plan.
- Faults in 55 %: see `faults` for sizes. `cause` is none, clogged, fan, flow, dry, mount, room,
  sensor or unknown (heat pipes that dry out); severity 0 to 1, in four grades. The limit is then
  put between what the sound twin and the faulty card reach, or over both, so that every grade
  both crosses and does not; a third of the faulty ones never cross. A sound card never crosses,
  nor does a row of it read over its limit. A dry block has no sound twin; a gentle step on a dry
  block, told as dry, counts as sound.
- Sensors: see `sensors`. 1 to 20 Hz, 1 K or 1/8 K, floor or nearest, values late by up to 1.5 s,
  held for 20 ms to 1 s, offsets to 3 K, power as mean of 1 s, of 100 ms or of that moment
  (recorded: it aliases with bursts), a counter of energy, rows and values missing, stalls of 1 to
  4 s. Broken sensors stick, jump, shift by 2 to 14 K or come 1 to 6 s later still. Three in ten
  of these have a limit set under what the ramp reaches, so that a stop is due.
- Stops: 0.05 to 0.8 s of latency (recorded: power gone in 80 to 165 ms).

Truth of the limit is the true die at the place of its sensor, or the hottest point where its
limit is known. A sensor's offset is hidden from the guard: judge lateness by `crossing_s` and,
for what a guard can know, by `reading_crossing_s` and `Aftermath.hottest_reading_c`.

Not drawn: two faults at once, a fault that heals, several cards in one stream, boiling coolant,
condensation, altitude, a card that resets or changes its clocks by itself but for throttling.
"""

from .course import Aftermath
from .draw import Bench, Scenario, Truth, scenario
from .sensors import Rows

__all__ = ["Aftermath", "Bench", "Rows", "Scenario", "Truth", "scenario"]
