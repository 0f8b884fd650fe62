#!/usr/bin/env python3
"""Writes and reads binary readings.

    binary_readings.py write FILE    twelve apertures of each direction, in hundredths of a micrometre
    binary_readings.py read FILE     prints them as CSV
"""
import struct
import sys
import zlib
from array import array

MAGIC = b"\x89SVCR\r\n\x1a"
APERTURE, SUSPECT, WIRE = 1, 2, 3
WARP, WEFT = 0, 1
LONGEST_RUN = 65_536
COLUMNS = {APERTURE: "aperture", SUSPECT: "suspect", WIRE: "wire"}


def checked(data):
    return data + struct.pack("<I", zlib.crc32(data))


def write(file, quantum_pm, runs):
    """`runs`: (quantity, direction, readings as whole numbers of the quantum)."""
    file.write(checked(MAGIC + struct.pack("<IIQ", 1, 0, quantum_pm)))
    count = 0
    for quantity, direction, readings in runs:
        for begin in range(0, len(readings), LONGEST_RUN):
            part = array("i", readings[begin : begin + LONGEST_RUN])
            if sys.byteorder == "big":
                part.byteswap()
            file.write(checked(struct.pack("<BBHI", quantity, direction, 0, len(part)) + part.tobytes()))
            count += len(part)
    file.write(checked(struct.pack("<QQ", 0, count)))


def intact(data):
    if len(data) < 4 or struct.unpack("<I", data[-4:])[0] != zlib.crc32(data[:-4]):
        raise ValueError("damaged or cut short")
    return data[:-4]


def read(file):
    """Yields (quantity, direction, quantum in picometres, readings) of each run."""
    magic, version, reserved, quantum = struct.unpack("<8sIIQ", intact(file.read(28)))
    if (magic, version, reserved) != (MAGIC, 1, 0):
        raise ValueError("not a file of binary readings, or of another version")
    while any(head := file.read(8)):
        quantity, direction, _, count = struct.unpack("<BBHI", head)
        data = intact(head + file.read(4 * count + 4))
        yield quantity, direction, quantum, struct.unpack(f"<{count}i", data[8:])
    intact(head + file.read(12))


def main():
    action, path = sys.argv[1:]
    if action == "write":
        along_warp = [7531, 7498, 7512, 7540, 7477, 7503, 7525, 7490, 7518, 7509, 7533, 7486]
        along_weft = [7602, 7588, 7571, 7615, 7593, 7580, 7609, 7577, 7598, 7584, 7601, 7590]
        with open(path, "wb") as file:
            write(file, 10_000, [(APERTURE, WARP, along_warp), (APERTURE, WEFT, along_weft)])
        return
    with open(path, "rb") as file:
        print("direction,quantity,um")
        for quantity, direction, quantum, readings in read(file):
            for reading in readings:
                print(f"{('warp', 'weft')[direction]},{COLUMNS[quantity]},{reading * quantum / 1e6}")


if __name__ == "__main__":
    main()
