"""Write `schema.json` anew: what each kind of entry may hold. Then read what changed."""

from __future__ import annotations

import json

from continuity.care import entries
from tests.care.test_acts import SCHEMA


def main() -> None:
    """Sort the keys: a field that moved within its class changes nothing."""
    text = json.dumps(entries.schema(), indent=1, sort_keys=True, ensure_ascii=False)
    SCHEMA.write_text(f"{text}\n", "utf-8")


if __name__ == "__main__":
    main()
