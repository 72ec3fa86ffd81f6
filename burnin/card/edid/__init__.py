"""EDID: what the bytes of a screen's own description mean."""
