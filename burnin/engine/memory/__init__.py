"""Memory work: patterns written, swept, compared; failing words gathered."""
