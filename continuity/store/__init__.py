"""Where a record is kept: one protocol, SQLite first."""
