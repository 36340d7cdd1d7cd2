"""Pictures as WebP, by Pillow: the same bytes with the same version of its libwebp."""

from __future__ import annotations

from io import BytesIO

import numpy as np
from numpy.typing import NDArray

QUALITY, EFFORT = 82, 4


def webp_bytes(pixels: NDArray[np.uint8], lossless: bool = False) -> bytes:
    """A WebP file of (h, w, 3) uint8 sRGB pixels, or of (h, w, 4) with opacity. lossless: of few flat tints,
    which are smaller so, and sharp."""
    from PIL import Image  # late: few calls write a page

    held = BytesIO()
    Image.fromarray(np.ascontiguousarray(pixels)).save(
        held, "WEBP", quality=QUALITY, method=EFFORT, lossless=lossless
    )
    return held.getvalue()
