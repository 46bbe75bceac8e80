"""A told day at an invented firm."""
