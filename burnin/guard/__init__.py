"""Guards watch samples and end a load in time."""
