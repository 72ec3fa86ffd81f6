"""What failed beside link and outputs, part by part."""
