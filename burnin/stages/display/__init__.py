"""Every output detects a screen and reads its EDID."""
