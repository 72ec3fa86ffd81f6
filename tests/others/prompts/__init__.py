"""What a person in gloves types at a prompt: what it gave once, and what it must give."""
