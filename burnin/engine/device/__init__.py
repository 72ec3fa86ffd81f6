"""What an engine asks of a device, and the patterns and slices that it is given."""
