"""Reading with distrust: every verdict is computed from bytes and keys given from outside."""
