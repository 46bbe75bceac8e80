"""Reading labels back, by two decoders that share no code: ZXing-C++ and OpenCV.

Both are needed only to check labels, never to print them, and are imported when asked for
(`pip install zxing-cpp opencv-python-headless`).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from importlib import import_module
from typing import TYPE_CHECKING, Any

from PIL import Image, ImageFilter

from continuity_labels.errors import DecoderMissingError, LabelError
from continuity_labels.raster import to_image

if TYPE_CHECKING:
    from collections.abc import Callable

    from continuity_labels.code import Code, CodeBook
    from continuity_labels.drawing import Drawing


class Decoder(StrEnum):
    """An independent reader of QR symbols; the value is the module's name."""

    ZXING = "zxingcpp"
    OPENCV = "cv2"


@dataclass(frozen=True)
class Reading:
    """What a decoder saw: text, not yet a code."""

    decoder: Decoder
    text: str


def decode(
    image: Image.Image, *, decoders: tuple[Decoder, ...] = tuple(Decoder)
) -> tuple[Reading, ...]:
    """Every text that the decoders find in an image.

    Each decoder takes the image as it is; where it finds nothing, it takes further looks, with
    white slits closed (dead dots of a printhead, cracks in a crease) and with specks smoothed,
    as the lens of a scanner does by itself.

    Raises:
        DecoderMissingError: a decoder is not installed.
    """
    grey = image.convert("L")
    found: list[Reading] = []
    for decoder in decoders:
        read = {Decoder.ZXING: _zxing, Decoder.OPENCV: _opencv}[decoder]
        module = _module(decoder.value)
        for look in _LOOKS:
            texts = read(module, look(grey))
            if texts:
                found += [Reading(decoder, text) for text in texts]
                break
    return tuple(found)


def read_back(drawing: Drawing, book: CodeBook) -> tuple[Code, ...]:
    """The codes on a drawing as both decoders agree to read them: the check before printing.

    Raises:
        DecoderMissingError: a decoder is not installed.
        LabelError: a decoder does not read exactly what was drawn.
    """
    drawn = {symbol.text for symbol in drawing.symbols}
    for decoder in Decoder:
        seen = {reading.text for reading in decode(to_image(drawing), decoders=(decoder,))}
        if seen != drawn:
            raise LabelError(
                f"of {len(drawn)} codes drawn, {decoder.value} reads {len(seen & drawn)}; "
                "the label must not be printed."
            )
    return tuple(book.parse(text) for text in sorted(drawn))


def _closed(grey: Image.Image, size: int) -> Image.Image:
    return grey.filter(ImageFilter.MinFilter(size)).filter(ImageFilter.MaxFilter(size))


_LOOKS: tuple[Callable[[Image.Image], Image.Image], ...] = (
    lambda grey: grey,
    lambda grey: _closed(grey, 3),
    lambda grey: _closed(grey, 5),
    lambda grey: grey.filter(ImageFilter.MedianFilter(5)),
)


def _zxing(module: Any, grey: Image.Image) -> list[str]:
    return [each.text for each in module.read_barcodes(grey, formats=module.BarcodeFormat.QRCode)]


def _opencv(module: Any, grey: Image.Image) -> list[str]:
    numpy = _module("numpy")
    try:
        found, texts, _, _ = module.QRCodeDetector().detectAndDecodeMulti(numpy.asarray(grey))
    except module.error:
        return []  # it gives up on some images by raising: nothing was read
    return [text for text in texts if text] if found else []


def _module(name: str) -> Any:
    try:
        return import_module(name)
    except ModuleNotFoundError:
        raise DecoderMissingError(
            f"reading labels back needs {name}; install zxing-cpp and opencv-python-headless."
        ) from None
