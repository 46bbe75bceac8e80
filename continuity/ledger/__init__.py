"""How a record is kept so that altering it shows: signed entries, chains, one Merkle tree, keys.

Nothing here knows of care. Every function is pure but the reading and writing of key files; bytes
come in, verdicts go out, and whatever is not exactly as the format says raises `FormatError`.
"""
