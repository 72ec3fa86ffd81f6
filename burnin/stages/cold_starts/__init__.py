"""The link is judged at each of several cold starts."""
