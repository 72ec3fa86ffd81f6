"""Files: how much is read of those from outside, whose ours are, how they reach the disk."""
