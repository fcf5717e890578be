"""heicturn.py IN OUT ANGLE AXIS: adds irot (quarter turns counter-clockwise,
0 = none) and then imir (0 top-bottom, 1 left-right, -1 none) to the primary
item of a small HEIC file, which heif-enc of libheif 1.15 cannot do itself."""
import struct, sys

data = open(sys.argv[1], "rb").read()
angle, axis = int(sys.argv[3]), int(sys.argv[4])


def boxes(b):
    at = 0
    while at < len(b):
        n, kind = struct.unpack(">I4s", b[at:at + 8])
        yield kind, b[at + 8:at + n]
        at += n


def box(kind, body):
    return struct.pack(">I4s", 8 + len(body), kind) + body


new = ([box(b"irot", bytes([angle]))] if angle else []) + ([box(b"imir", bytes([axis]))] if axis >= 0 else [])
top = list(boxes(data))
meta = dict(top)[b"meta"]
inner = list(boxes(meta[4:]))
primary = struct.unpack(">H", dict(inner)[b"pitm"][4:6])[0]
grow = 0
out = []
for kind, body in inner:
    if kind == b"iprp":
        props = dict(boxes(body))
        count = len(list(boxes(props[b"ipco"])))
        ipco = props[b"ipco"] + b"".join(new)
        ipma, at = props[b"ipma"], 8
        made = bytearray(ipma[:8])
        for _ in range(struct.unpack(">I", ipma[4:8])[0]):
            item, n = struct.unpack(">HB", ipma[at:at + 3])
            uses = ipma[at + 3:at + 3 + n]
            if item == primary:
                uses += bytes(0x80 | (count + 1 + i) for i in range(len(new)))
            made += struct.pack(">HB", item, len(uses)) + uses
            at += 3 + n
        longer = box(b"ipco", ipco) + box(b"ipma", bytes(made))
        grow = len(longer) - len(body)
        body = longer
    out.append((kind, body))
# Places in the file move by as much as the head grew.
done = []
for kind, body in out:
    if kind == b"iloc":
        body = bytearray(body)
        assert body[0] == 1 and body[4] == 0x44 and body[5] >> 4 in (0, 4), body[:6].hex()
        base = body[5] >> 4
        at = 8
        for _ in range(struct.unpack(">H", body[6:8])[0]):
            method = body[at + 3] & 15
            at += 6
            if base and method == 0:
                struct.pack_into(">I", body, at, struct.unpack_from(">I", body, at)[0] + grow)
            at += base
            n = struct.unpack_from(">H", body, at)[0]
            at += 2
            for _ in range(n):
                if not base and method == 0:
                    struct.pack_into(">I", body, at, struct.unpack_from(">I", body, at)[0] + grow)
                at += 8
        body = bytes(body)
    done.append(box(kind, body))
meta = box(b"meta", meta[:4] + b"".join(done))
open(sys.argv[2], "wb").write(b"".join(meta if k == b"meta" else box(k, b) for k, b in top))
