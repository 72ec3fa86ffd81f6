"""The engine for NVIDIA cards, through CUDA (`kind.py` registers it); needs ``burnin[cuda]``.

Start with `device.py`; `card.py` is the way to the library, `cuda_errors.py` the table of its
errors. The kernels lie beside their modules: `memory.cu`, `compute.cu`.
"""
