"""The files through which the simulated machine is read, byte for byte as a bench shows them."""
