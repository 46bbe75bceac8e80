"""Cold proofs of pymerkle over the same leaves; run by an interpreter that has pymerkle.

Usage: `python beside_pymerkle.py REGISTER TREE`. Prints the processor seconds of a root, an
inclusion and a consistency proof, each by a tree just opened, as JSON.
"""

from __future__ import annotations

import json
import sqlite3
import sys
import time
from statistics import median

import pymerkle

ROUNDS = 5


def main(register: str, path: str) -> None:
    notes = sqlite3.connect(f"file:{register}?mode=ro", uri=True)
    with pymerkle.SqliteTree(path) as tree:
        size = tree.append_entries(
            note for (note,) in notes.execute("SELECT note FROM entry ORDER BY position")
        )
    deeds = {
        "root": lambda tree: tree.get_state(),
        "inclusion proof": lambda tree: tree.prove_inclusion(size // 3 + 1, size),
        "consistency proof": lambda tree: tree.prove_consistency(size // 2 - 1, size),
    }
    spent = {}
    for name, deed in deeds.items():
        times = []
        for _ in range(ROUNDS):
            began = time.process_time()
            with pymerkle.SqliteTree(path) as tree:
                deed(tree)
            times.append(time.process_time() - began)
        spent[name] = median(times)
    print(json.dumps(spent))


if __name__ == "__main__":
    main(*sys.argv[1:])
