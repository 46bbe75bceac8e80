"""A case whose every free text tries to become something else than text."""

from __future__ import annotations

from scenario import BODY, CASE, Firm, start

MARKUP = "</script><script>globalThis.taken=1</script>"
ATTRIBUTES = "\"'><img src=x onerror=alert(1)><svg onload=alert(2)>"
COMMENT = "<!--<script> ]]> --> </style></title></textarea></pre>"
TEMPLATES = "{{7*7}} ${globalThis.taken=1} \\u003c/script> javascript:alert(3)"
TURNED = "left \u202eright\u202c \u2066isolated\u2069 \u200f\u061c"
CONTROLS = "".join(map(chr, range(32))) + "".join(map(chr, range(0x7F, 0xA0)))
UNSEEN = "\u00ad\u200b\u200d\u2060\ufeff\u180e\u3164\ufffe\U000e0041\u2028\u2029\ufff9\u034f"
SEEN = "é ß \u00a0 \u0301 \u1100 \u2010 \u2030 \u3000 \ufe0f \ufffd 字 א ع \U0001f600 \U00010000 \U000f0000"

TEXTS = (MARKUP, ATTRIBUTES, COMMENT, TEMPLATES, TURNED, CONTROLS, UNSEEN, SEEN)


def hostile_firm() -> Firm:
    """Every text of every entry that takes one."""
    firm = start()
    whole = " ".join(TEXTS)
    firm.record("place-named", place="odd", what="other", description=whole)
    firm.record("holder-named", holder="strange", what="other", description=whole)
    firm.tell(
        "case-opened",
        disposition="burial",
        coroner_reference=whole,
        release_authority=whole,
        remark=whole,
        personal={f"field-{chr(97 + n)}": text for n, text in enumerate(TEXTS)},
    )
    firm.tell(
        "received",
        giver="strange",
        place="odd",
        items=[
            {"what": "decedent", "description": whole},
            *({"what": "effect", "description": text} for text in TEXTS),
            {"what": "container", "form": "coffin", "description": MARKUP, "found_seal": whole},
        ],
    )
    firm.tell("irregularity-raised", things=[BODY], what=whole)
    for text in TEXTS:
        firm.tell("irregularity-raised", what=text)
    firm.tell("handed-over", things=[f"{CASE}.2"], taker="strange", authority=ATTRIBUTES)
    firm.publish()
    return firm
