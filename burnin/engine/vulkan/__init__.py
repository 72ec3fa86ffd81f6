"""The engine for cards of any vendor, through Vulkan."""
