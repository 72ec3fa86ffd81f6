"""PCI and PCI Express registers: what the bytes of the configuration space mean."""
