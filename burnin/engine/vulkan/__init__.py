"""The engine for cards of any vendor, through Vulkan (`kind.py` registers it).

Start with `device.py`; `gpu.py` is the way to the library, `vulkan_errors.py` the table of its
errors. The kernels lie beside their modules: `memory.wgsl`, `compute.wgsl`,
`mixed.wgsl`, `arithmetic.wgsl`, `link.wgsl`.
"""
