"""Label codes, drawing, sheets and reading back; knows nothing but a thing's code."""
