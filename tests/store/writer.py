"""A program of its own that appends to a register and tells each receipt; see the tests beside it.

Arguments: path, name of the case of its own, how many entries, and what it is to die before. It
begins when it is sent a line.
"""

from __future__ import annotations

import os
import sys
import time

from continuity.store.database import Database
from continuity.store.sqlite import SqliteStore


def die_before(fatal):
    """Stop the program dead, as a power cut would, before a statement on one of the two files."""
    run = Database.run

    def mortal(self, sql, values=()):
        file = "personal" if self.path.suffix == ".personal" else "record"
        if f"{file} {sql}".startswith(fatal):
            os._exit(9)
        return run(self, sql, values)

    Database.run = mortal


def append(store, case_id):
    with store.writing() as pen:
        case = pen.case_head(case_id)
        number = case.length if case else 0
        note = f"{case_id} {number} {os.getpid()} {pen.head().size}\n".encode()
        stored = pen.append(note, case_id, number, "sighting")
        pen.put_disclosure(stored.position, "name", f"detail of {stored.position}")
    return stored


def main(path, own_case, count, fatal=None):
    with SqliteStore.open(path) as store:
        if fatal:
            die_before(fatal)
        print("ready", flush=True)
        sys.stdin.readline()
        for _ in range(int(count)):
            for case_id in ("shared", own_case):
                stored = append(store, case_id)
                print(stored.position, stored.leaf.hex(), flush=True)
                time.sleep(0.001)  # as between two people's scans, so that others get the pen


if __name__ == "__main__":
    main(*sys.argv[1:])
