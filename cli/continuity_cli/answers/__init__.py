"""What commands answer with `--json`: one module for each shape, named and versioned.

Each module has `SHAPE`, the name the answer carries, and `Answer`, the dictionary it is. A field
is never taken away from a shape or changed within it; what must change becomes `.../2`.
"""
