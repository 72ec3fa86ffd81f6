"""State and laws of the simulated machine: link, heat, power, supply, memory, outputs."""
