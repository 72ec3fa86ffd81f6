"""Load is raised in steps, held, and taken away; temperatures are judged."""
