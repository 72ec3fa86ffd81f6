"""What makes a card work: jobs, the engines that carry them out, and the process they work in.

Start with `job.py` (what work there is, and what it tells), then `engine.py` (what an engine
answers) and `kind.py` (what it registers of itself). `choose.py` picks one; `proof.py` shows that
it works the card under test and no other; `power_hold.py` holds a power by the share of work.
`memory/`, `compute/` and `link_traffic.py` carry jobs out on a `device/`, whichever API that is:
`vulkan/`, `cuda/`. `process/` is the worker process and its dead-man switch.

It knows `core` and nothing else of the tool: a card is a bus address and two PCI numbers to it.
"""
