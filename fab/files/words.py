"""Text as every format can hold it."""

from __future__ import annotations

import re

# Characters outside XML 1.0, section 2.2: control characters and halves of surrogate pairs. PDF and
# CSV choke on the halves too, and no reader shows the rest.
_UNWRITABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


def writable(text: str) -> str:
    """`text` with each character that files can't hold turned into the replacement character."""
    return _UNWRITABLE.sub("\ufffd", text)
