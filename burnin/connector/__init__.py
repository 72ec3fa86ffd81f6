"""The edge connector: its contacts and what they carry."""
