#!/usr/bin/python3
"""Writes the frame after each line of words in frames.txt, from the words alone.

    cd firmware-protocol/vectors && python3 make.py

It shares no code with the Go package and the C encoder, which are tested against frames.txt. Where frames.txt
changes by running this, one of the three has changed its mind.
"""
import struct

TYPES = {
    "hello": 0x01, "samples": 0x02, "marker": 0x03, "status": 0x04, "end": 0x05, "reply": 0x06,
    "identify": 0x81, "start": 0x82, "stop": 0x83, "setrate": 0x84, "mark": 0x85,
    "hosttime": 0xC1, "hostgap": 0xC2, "hostnote": 0xC3,
}
FIXED = {
    "marker": "<QH", "status": "<QIIIHhI", "end": "<QIB", "reply": "<BIBI", "identify": "<", "start": "<", "stop": "<",
    "setrate": "<I", "mark": "<H", "hosttime": "<qh", "hostgap": "<qQB",
}


def text(word):
    b = b"" if word == "-" else word.encode()
    return bytes([len(b)]) + b


def hello(w):
    out = struct.pack("<BBQIB", 1, 0, *map(int, w[:3])) + text(w[3]) + text(w[4]) + struct.pack("<B", int(w[5]))
    for i in range(6, len(w), 8):
        entry = struct.pack("<BBBBfff", *map(int, w[i:i + 4]), *map(float, w[i + 4:i + 7])) + text(w[i + 7])
        out += bytes([len(entry)]) + entry
    return out


def samples(w):
    v = list(map(int, w))
    return struct.pack("<IQIBB%dH" % (len(v) - 5), *v)


def payload(kind, w):
    if kind == "hello":
        return hello(w)
    if kind == "samples":
        return samples(w)
    if kind == "hostnote":
        b = b"" if w[1] == "-" else w[1].encode()
        return struct.pack("<BH", int(w[0]), len(b)) + b
    return struct.pack(FIXED[kind], *map(int, w))


def crc32c(data):
    """Long division of the bit-reversed message by 1EDC6F41, most significant bit first, then reflected back."""
    crc = 0xFFFFFFFF
    for byte in data:
        crc ^= int("{:08b}".format(byte)[::-1], 2) << 24
        for _ in range(8):
            crc = (crc << 1) ^ (0x11EDC6F41 if crc & 0x80000000 else 0)
    return int("{:032b}".format(crc)[::-1], 2) ^ 0xFFFFFFFF


def cobs(data):
    """Split at the zeros of the data with one zero put at its end, then cut each part in runs of 254."""
    out = b""
    parts = (data + b"\0").split(b"\0")[:-1]
    for k, part in enumerate(parts):
        while len(part) >= 254:
            out += b"\xff" + part[:254]
            part = part[254:]
            if not part and k == len(parts) - 1:
                return out
        out += bytes([len(part) + 1]) + part
    return out


def frame(line):
    kind, *w = line.split()
    raw = struct.pack("<BII", TYPES[kind], int(w[0]), int(w[1])) + payload(kind, w[2:])
    return b"\0" + cobs(raw + struct.pack("<I", crc32c(raw))) + b"\0"


def main():
    assert crc32c(b"123456789") == 0xE3069283
    lines = [line.rstrip("\n") for line in open("frames.txt", encoding="utf-8")]
    with open("frames.txt", "w", encoding="utf-8") as f:
        for line in lines:
            if line.startswith("= "):
                continue
            f.write(line + "\n")
            if line and not line.startswith("#"):
                f.write("= " + frame(line).hex().upper() + "\n")


if __name__ == "__main__":
    main()
