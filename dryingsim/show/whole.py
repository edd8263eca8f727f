"""Writing files whole: nobody ever sees half of one, and a failure leaves the old one."""

import os
from pathlib import Path


def write_whole(path: Path, content: bytes | None) -> Path:
    """Write beside the file, then rename; without content only try whether that can be done."""
    beside = path.with_name(f".{path.name[:40]}.{os.getpid()}.part")  # a name may be as long as names can be
    try:
        beside.write_bytes(content or b"")
        if content is not None:
            beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
    return path
