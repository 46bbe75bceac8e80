"""Write `findings.json` anew: what a director reads of each history. Then read what changed."""

from __future__ import annotations

import json

from tests.care.test_findings import AS_READ, HISTORIES, SENTENCES, _found, as_read


def main() -> None:
    """Keep the order that the file has; what is new comes last."""
    now = {f"{h.code}: {h.name}": [as_read(f) for f in _found(h)] for h in HISTORIES if h.raises}
    names = [*(name for name in AS_READ if name in now), *(n for n in now if n not in AS_READ)]
    text = json.dumps({name: now[name] for name in names}, indent=1, ensure_ascii=False)
    SENTENCES.write_text(f"{text}\n", "utf-8")


if __name__ == "__main__":
    main()
