#!/usr/bin/env python3
"""Write the "measured" tables of the demo.

Everything here is invented: the screen speaker of a small repertory cinema with a large woofer in a
vented box, a midrange compression driver on a large horn, a tweeter on a small one and a second, larger
tweeter to be tried in its place. No real driver was measured or copied.

    python3 make_tables.py            write the tables beside this script
    python3 make_tables.py --check    compare them with what would be written; exit 1 if they differ

How a table is made
- Impedance: a passive circuit (coil resistance, lossy coil inductance L1 + (L2 || R2), parallel
  resonances; for the woofer the vented box after Small, 1973). Its real part is positive.
- Response: poles and zeros in the left half plane only, so that the phase belongs to the level. The
  delay of each driver is left out: it is carried by the position in the brief.
- Noise of a careful measurement on both columns, from a fixed seed.
Amplitudes are at 2.83 V on the terminals and 1 m; levels are dB SPL re 20 uPa; time convention e^(+jwt).
"""

import argparse
import cmath
import math
import pathlib
import random
import sys

POINTS_PER_OCTAVE = 24
AIR_DENSITY = 1.204  # kg/m3 at 20 C
SPEED_OF_SOUND = 343.2  # m/s at 20 C
REFERENCE_PRESSURE = 20e-6  # Pa
DRIVE = 2.83  # V

LEVEL_NOISE_DB = 0.05
LEVEL_NOISE_DEG = 0.3
IMPEDANCE_NOISE = 0.003
IMPEDANCE_NOISE_DEG = 0.15

WOOFER = {
    "re": 6.3, "fs": 33.0, "qms": 5.5, "qes": 0.29, "vas": 0.235, "sd": 0.0855,
    "volume": 0.130, "tuning": 37.5, "ql": 8.0,
    "l1": 0.35e-3, "l2": 0.75e-3, "r2": 8.0,
    # r (ohm), f (Hz), q: standing wave in the box, cone edge, break-up.
    "resonances": [(0.5, 415.0, 9.0), (0.7, 1150.0, 4.0), (0.9, 2550.0, 5.0)],
    # The cone beams as it is driven higher and gains on the axis what the coil loses.
    "shelf": (720.0, 900.0),
    "bells": [  # dB, Hz, q
        (-0.4, 118.0, 2.5), (0.5, 215.0, 3.0), (-0.5, 415.0, 6.0), (0.5, 560.0, 3.0), (-0.7, 820.0, 3.0),
        (1.2, 1180.0, 3.5), (-1.8, 1650.0, 3.0), (5.5, 2480.0, 4.0), (-4.0, 3300.0, 4.0), (3.0, 4300.0, 5.0),
        (-5.0, 5700.0, 4.0), (3.0, 7600.0, 4.0), (-4.0, 10500.0, 3.0), (3.0, 14200.0, 4.0),
    ],
    "low_passes": [(2900.0, 0.9), (6200.0, 0.7)],
}

MID = {
    "re": 6.4, "l1": 0.05e-3, "l2": 0.09e-3, "r2": 5.0,
    # Diaphragm on its horn, then reflections from the horn's mouth.
    "resonances": [
        (11.0, 385.0, 2.6), (6.2, 560.0, 4.2), (3.6, 745.0, 5.0), (2.3, 945.0, 5.5), (1.4, 1160.0, 6.0),
        (0.8, 1390.0, 6.5), (1.1, 8700.0, 5.0), (0.7, 12900.0, 6.0),
    ],
    "level": 108.5, "high_passes": [(325.0, 0.85)], "first_order_high_passes": [180.0],
    "mass_corner": 4200.0, "low_passes": [(15500.0, 1.1)],
    "bells": [
        (1.2, 400.0, 3.0), (-0.9, 505.0, 4.0), (0.9, 625.0, 4.5), (-0.8, 770.0, 5.0), (0.6, 920.0, 5.0),
        (-0.5, 1130.0, 4.5), (0.5, 1480.0, 3.5), (-0.5, 2050.0, 3.0), (0.6, 2900.0, 3.0), (-0.5, 4100.0, 3.5),
        (0.6, 5600.0, 4.0), (-0.8, 7300.0, 4.5), (1.3, 8900.0, 5.0), (-1.6, 11000.0, 4.5), (1.8, 13300.0, 6.0),
        (-2.5, 17800.0, 5.0),
    ],
}

HIGH = {
    "re": 6.7, "l1": 0.022e-3, "l2": 0.03e-3, "r2": 2.5,
    "resonances": [
        (9.5, 1950.0, 2.2), (4.6, 2850.0, 4.0), (2.5, 3750.0, 4.8), (1.5, 4750.0, 5.5), (0.8, 5850.0, 6.0),
        (0.9, 16800.0, 6.0),
    ],
    "level": 107.5, "high_passes": [(2050.0, 0.9)], "first_order_high_passes": [1100.0],
    "mass_corner": 12500.0, "low_passes": [(20500.0, 1.4)],
    "bells": [
        (1.0, 2250.0, 3.0), (-0.9, 2900.0, 4.0), (0.8, 3600.0, 4.5), (-0.7, 4450.0, 5.0), (0.5, 5500.0, 5.0),
        (-0.5, 6900.0, 4.5), (0.6, 8500.0, 4.0), (-0.6, 10600.0, 4.0), (0.7, 13000.0, 5.0), (-0.6, 15600.0, 6.0),
        (-2.0, 21000.0, 6.0),
    ],
}

# A larger diaphragm on a larger horn: lower, smoother, heavier, so that less is left at the very top.
HIGH_B = {
    "re": 6.2, "l1": 0.02e-3, "l2": 0.035e-3, "r2": 2.8,
    "resonances": [
        (8.0, 1240.0, 2.0), (3.4, 1830.0, 3.6), (1.7, 2450.0, 4.4), (0.9, 3150.0, 5.0), (0.5, 3900.0, 5.5),
        (0.6, 14800.0, 5.0),
    ],
    "level": 109.0, "high_passes": [(1350.0, 0.85)], "first_order_high_passes": [700.0],
    "mass_corner": 9500.0, "low_passes": [(19500.0, 1.2)],
    "bells": [
        (0.6, 1500.0, 3.0), (-0.5, 1950.0, 4.0), (0.4, 2500.0, 4.5), (-0.3, 3300.0, 4.5), (0.3, 4500.0, 4.0),
        (-0.3, 6200.0, 4.0), (0.4, 8800.0, 4.0), (-0.4, 11800.0, 5.0), (0.8, 14800.0, 6.0), (-1.2, 18300.0, 6.0),
    ],
}


def bell(s, level_db, f_hz, q):
    """Minimum-phase bell of the given height at f_hz."""
    w, gain = 2 * math.pi * f_hz, 10 ** (level_db / 20)
    # The quieter of numerator and denominator keeps the q, so that peak and dip mirror each other.
    top, bottom = (gain, 1.0) if gain >= 1 else (1.0, 1 / gain)
    return (s * s + s * w * top / q + w * w) / (s * s + s * w * bottom / q + w * w)


def low_pass(s, f_hz, q):
    w = 2 * math.pi * f_hz
    return w * w / (s * s + s * w / q + w * w)


def high_pass(s, f_hz, q):
    w = 2 * math.pi * f_hz
    return s * s / (s * s + s * w / q + w * w)


def parallel_resonance(s, r, f_hz, q):
    """Impedance of R, L and C in parallel: r at f_hz."""
    w = 2 * math.pi * f_hz
    return r * (s * w / q) / (s * s + s * w / q + w * w)


def coil(s, driver):
    l2 = s * driver["l2"]
    return driver["re"] + s * driver["l1"] + l2 * driver["r2"] / (l2 + driver["r2"])


def woofer(s):
    """Impedance (ohm) and sound pressure (Pa at DRIVE, 1 m, half space) of the vented woofer."""
    d = WOOFER
    ws, wb = 2 * math.pi * d["fs"], 2 * math.pi * d["tuning"]
    lces, cmes = d["re"] / (ws * d["qes"]), d["qes"] / (ws * d["re"])
    res = d["re"] * d["qms"] / d["qes"]
    lceb = lces * d["volume"] / d["vas"]
    cmep = 1 / (wb * wb * lceb)
    box = s * lceb + 1 / (s * cmep) + wb * lceb / d["ql"]
    motional = 1 / (1 / res + 1 / (s * lces) + s * cmes + 1 / box)
    impedance = coil(s, d) + motional + sum(parallel_resonance(s, *r) for r in d["resonances"])
    # The cone's mass is driven by the coil's current alone: the small resonances above only show in the impedance.
    box_voltage = DRIVE * motional / (coil(s, d) + motional) * s * lceb / box
    area_over_force = math.sqrt(d["vas"] / (AIR_DENSITY * SPEED_OF_SOUND**2) / lces)
    pressure = s * AIR_DENSITY * box_voltage * area_over_force / (2 * math.pi)
    zero, pole = (2 * math.pi * f for f in d["shelf"])
    pressure *= (1 + s / zero) / (1 + s / pole)
    return impedance, shaped(s, pressure, d)


def horn(s, d):
    """Impedance (ohm) and sound pressure (Pa at DRIVE, 1 m) of a compression driver on a horn."""
    impedance = coil(s, d) + sum(parallel_resonance(s, *r) for r in d["resonances"])
    pressure = REFERENCE_PRESSURE * 10 ** (d["level"] / 20)
    for f_hz, q in d["high_passes"]:
        pressure *= high_pass(s, f_hz, q)
    for f_hz in d["first_order_high_passes"]:
        pressure *= s / (s + 2 * math.pi * f_hz)
    pressure /= 1 + s / (2 * math.pi * d["mass_corner"])
    return impedance, shaped(s, pressure, d)


def shaped(s, pressure, d):
    for f_hz, q in d["low_passes"]:
        pressure *= low_pass(s, f_hz, q)
    for level_db, f_hz, q in d["bells"]:
        pressure *= bell(s, level_db, f_hz, q)
    return pressure


def frequencies(from_hz, to_hz):
    count = math.floor(POINTS_PER_OCTAVE * math.log2(to_hz / from_hz) + 1e-9) + 1
    return [from_hz * 2 ** (i / POINTS_PER_OCTAVE) for i in range(count)]


class Noise:
    """Normal deviates by Box and Muller from the uniform generator, which Python keeps the same for a seed."""

    def __init__(self, seed):
        self.uniform = random.Random(seed)

    def __call__(self, deviation):
        radius = math.sqrt(-2 * math.log(1 - self.uniform.random()))
        return deviation * radius * math.cos(2 * math.pi * self.uniform.random())


def wrapped(degrees):
    return (degrees + 180) % 360 - 180


def impedance_table(what, model, from_hz, to_hz, seed):
    noise = Noise(seed)
    lines = head(f"{what}: impedance at the terminals", "frequency (Hz)  impedance (ohm)  phase (degrees)")
    for f in frequencies(from_hz, to_hz):
        z = model(2j * math.pi * f)[0]
        magnitude = abs(z) * (1 + noise(IMPEDANCE_NOISE))
        phase = math.degrees(cmath.phase(z)) + noise(IMPEDANCE_NOISE_DEG)
        assert abs(phase) < 89, "the driver would not be passive"
        lines.append(f"{f:10.3f}  {magnitude:8.3f}  {phase:7.2f}")
    return "\n".join(lines) + "\n"


def response_table(what, model, from_hz, to_hz, seed):
    noise = Noise(seed)
    lines = head(f"{what}: response at 2.83 V, 1 m", "frequency (Hz)  level (dB SPL)  phase (degrees)")
    for f in frequencies(from_hz, to_hz):
        p = model(2j * math.pi * f)[1]
        level = 20 * math.log10(abs(p) / REFERENCE_PRESSURE) + noise(LEVEL_NOISE_DB)
        phase = wrapped(math.degrees(cmath.phase(p)) + noise(LEVEL_NOISE_DEG))
        lines.append(f"{f:10.3f}  {level:7.2f}  {phase:8.2f}")
    return "\n".join(lines) + "\n"


def head(what, columns):
    return [
        f"* {what}",
        "* INVENTED DATA: no real driver. Made by make_tables.py for the demo.",
        "* Phase is that of the driver alone; its distance is in the position given in the brief.",
        f"* {columns}",
    ]


def tables():
    woofer_name, mid_name, high_name = "Woofer in its vented box", "Midrange on the large horn", "Tweeter on the small horn"
    high_b_name = "Larger tweeter on its own horn"
    return {
        "low-impedance.txt": impedance_table(woofer_name, woofer, 10, 22000, 101),
        "low-response.txt": response_table(woofer_name, woofer, 20, 22000, 102),
        "mid-impedance.txt": impedance_table(mid_name, lambda s: horn(s, MID), 10, 22000, 103),
        "mid-response.txt": response_table(mid_name, lambda s: horn(s, MID), 100, 22000, 104),
        "high-impedance.txt": impedance_table(high_name, lambda s: horn(s, HIGH), 10, 22000, 105),
        "high-response.txt": response_table(high_name, lambda s: horn(s, HIGH), 500, 22000, 106),
        "high-b-impedance.txt": impedance_table(high_b_name, lambda s: horn(s, HIGH_B), 10, 22000, 107),
        "high-b-response.txt": response_table(high_b_name, lambda s: horn(s, HIGH_B), 300, 22000, 108),
    }


def main():
    parser = argparse.ArgumentParser(description="Write the demo's invented tables.")
    parser.add_argument("--check", action="store_true", help="only compare with the files that are there")
    check = parser.parse_args().check
    folder = pathlib.Path(__file__).resolve().parent
    stale = []
    for name, text in tables().items():
        path = folder / name
        if check:
            if not path.exists() or path.read_bytes() != text.encode():
                stale.append(name)
        else:
            path.write_bytes(text.encode())
    if stale:
        sys.exit("not what this script writes: " + ", ".join(stale))


if __name__ == "__main__":
    main()
