#!/usr/bin/env python3
"""The rig of rig.cpp in Python, through ctypes: rig.py PATH_OF_THE_SHARED_LIBRARY."""
import ctypes
import sys
import threading
from ctypes import POINTER, byref, c_char_p, c_double, c_int32, c_int64, c_size_t, c_void_p

FIELDS, APERTURES, WIRES = 20, 12, 4
APERTURE, WIRE = 0, 1
WARP, WEFT = 0, 1


class Options(ctypes.Structure):
    _fields_ = [("struct_size", c_size_t), ("standard", c_char_p), ("size", c_char_p), ("grade", c_char_p), ("viewing", c_int32),
                ("measured_only", c_int32), ("apertures_only", c_int32), ("only_seen", c_int32), ("planned_warp", c_int64),
                ("planned_weft", c_int64), ("resolution_um", c_double), ("frame", c_int32), ("all_apertures", c_int32),
                ("frame_mm", c_double), ("roll_width_mm", c_double), ("roll_length_mm", c_double), ("apertures_in_piece", c_int64)]


class Figures(ctypes.Structure):
    _fields_ = [("struct_size", c_size_t), ("n", c_int64), ("refused", c_int64), ("mean_um", c_double),
                ("standard_deviation_um", c_double), ("minimum_um", c_double), ("maximum_um", c_double)]


class Standing(ctypes.Structure):
    _fields_ = [("struct_size", c_size_t), ("rejected", c_int32), ("criterion", c_int32), ("direction", c_int32),
                ("reserved", c_int32)]


class Result(ctypes.Structure):
    _fields_ = [("struct_size", c_size_t), ("verdict", c_int32), ("provisional", c_int32), ("required_count", c_int64),
                ("criterion_count", c_int32), ("all_measured", c_int32)]


class Failure(Exception):
    pass


class Inspector:
    """A handle; what goes wrong is an exception with the handle's message."""

    def __init__(self, library):
        self.library = library
        self.handle = c_void_p()
        if library.sievecloth_inspector_new(byref(self.handle)):
            raise MemoryError

    def __del__(self):
        self.library.sievecloth_inspector_free(self.handle)

    def call(self, name, *arguments):
        status = getattr(self.library, "sievecloth_inspector_" + name)(self.handle, *arguments)
        if status:
            raise Failure(status, self.library.sievecloth_inspector_message(self.handle).decode())

    def ask(self, kind, name, *arguments):
        answer = kind()
        getattr(self.library, f"sievecloth_{name}_init")(byref(answer))
        self.call({"result": "finish"}.get(name, name), *arguments, byref(answer))
        return answer

    def begin(self, **options):
        given = Options()
        self.library.sievecloth_options_init(byref(given))
        for name, value in options.items():
            setattr(given, name, value)
        self.call("begin", byref(given))

    def add(self, quantity, direction, lengths_pm):
        self.call("add_pm", quantity, direction, (c_int64 * len(lengths_pm))(*lengths_pm), len(lengths_pm))


def load(path):
    library = ctypes.CDLL(path)
    for name in ("version", "verdict_name", "inspector_message"):
        getattr(library, "sievecloth_" + name).restype = c_char_p
    library.sievecloth_inspector_message.argtypes = [c_void_p]
    library.sievecloth_inspector_free.argtypes = [c_void_p]
    library.sievecloth_inspector_add_pm.argtypes = [c_void_p, c_int32, c_int32, POINTER(c_int64), c_size_t]
    library.sievecloth_inspector_merge.argtypes = [c_void_p, POINTER(c_void_p), c_size_t]
    return library


class Camera:
    """A simulated camera: what it sees in a field depends on the field alone."""

    def __init__(self, field):
        self.state = field * 2654435761 + 1

    def see(self, count, nominal, spread):
        lengths = []
        for _ in range(count):
            self.state = (self.state * 6364136223846793005 + 1442695040888963407) % 2**64
            lengths.append(nominal - spread + (self.state >> 33) % (2 * spread))
        return lengths


def watch(inspector, first_field):
    for field in range(first_field, FIELDS, 2):
        camera = Camera(field)
        for direction in (WARP, WEFT):
            inspector.add(APERTURE, direction, camera.see(APERTURES, 75_000_000, 9_000_000))
            inspector.add(WIRE, direction, camera.see(WIRES, 50_000_000, 2_000_000))
        if inspector.ask(Standing, "standing").rejected:
            return


def main():
    library = load(sys.argv[1])
    inspectors = [Inspector(library), Inspector(library)]
    for inspector in inspectors:
        share = FIELDS // 2 * APERTURES
        inspector.begin(standard=b"astm-e11-17", size=b"No. 200", grade=b"inspection", viewing=1, planned_warp=share, planned_weft=share)
    threads = [threading.Thread(target=watch, args=(inspector, first)) for first, inspector in enumerate(inspectors)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    total, part = inspectors
    total.call("merge", (c_void_p * 1)(part.handle), 1)
    result = total.ask(Result, "result")
    print("verdict", library.sievecloth_verdict_name(result.verdict).decode())
    for name, direction in (("warp", WARP), ("weft", WEFT)):
        figures = total.ask(Figures, "figures", APERTURE, direction)
        print(f"{name} n {figures.n} mean_um {figures.mean_um:.17g} s_um {figures.standard_deviation_um:.17g}")
    return 0 if result.verdict == 0 else 1


if __name__ == "__main__":
    sys.exit(main())
