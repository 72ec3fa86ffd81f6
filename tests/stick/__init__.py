"""The bench on a stick: what is pure in it at once, its building and starting by hand."""
