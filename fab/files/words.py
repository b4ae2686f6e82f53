"""Text as every format can hold it."""

from __future__ import annotations

import re

# Characters outside XML 1.0, section 2.2: control characters and halves of surrogate pairs. PDF and
# CSV choke on the halves too, and no reader shows the rest.
_UNWRITABLE = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def writable(text: str) -> str:
    """`text` with each character that files can't hold turned into the replacement character."""
    return _UNWRITABLE.sub("\ufffd", text)
