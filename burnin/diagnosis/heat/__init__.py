"""Which part of a cooler is wrong, from what a ramp told to causes."""
