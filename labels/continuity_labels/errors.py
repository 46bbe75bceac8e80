"""What labels refuse, each in one sentence: what, where, and what would mend it."""

from __future__ import annotations


class LabelError(ValueError):
    """Anything this package refuses to do; catch this to catch all of them.

    Attributes:
        finding: a stable word for the refusal, for callers that answer in JSON.
    """

    finding = "label-refused"


class NotALabelError(LabelError):
    """The text was never one of these labels: a web address, a price, a case number."""

    finding = "not-a-label"


class DamagedCodeError(LabelError):
    """The text has a code's shape, but its check digits disagree: misread or mistyped."""

    finding = "damaged-code"


class OtherRegisterError(LabelError):
    """The code is whole, and belongs to another register."""

    finding = "other-register"


class StockError(LabelError):
    """A label stock is unknown, wrongly described, or too small for what is asked of it."""

    finding = "stock-unfit"


class FaceError(LabelError):
    """What should be printed may not be, or does not belong on this kind of label."""

    finding = "face-refused"


class DecoderMissingError(LabelError):
    """Reading labels back needs a decoder that is not installed."""

    finding = "decoder-missing"
