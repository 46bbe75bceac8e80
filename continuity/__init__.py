"""Continuity: a chain-of-custody and remains-continuity ledger for mortuaries."""
