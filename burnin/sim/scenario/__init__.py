"""What the simulated machine is made of: parts and causes, read from TOML files."""
