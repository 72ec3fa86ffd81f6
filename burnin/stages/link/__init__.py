"""The link trains at full width and speed and stays there without errors under load."""
