"""The worker process: wire, dead-man switch, and the engine that leads it."""
