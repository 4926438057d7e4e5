"""Times numpy's batched complex solve on the networks it is given on standard input.

Called by the program `against-numpy` of this folder, which times our own sweep in the same run.
The admittances are made by whole-array arithmetic and solved by one call of numpy.linalg.solve on
the batch, which is how a careful user of numpy would write it.
"""

import json
import sys
import time

import numpy


def build(job):
    omega = 2.0 * numpy.pi * numpy.array(job["f_hz"])
    nodes = job["nodes"]  # without gnd; node 0 is `in`
    y = numpy.zeros((omega.size, nodes, nodes), dtype=complex)
    for part in job["parts"]:
        kind, value, loss = part["kind"], part["value"], part["loss"]
        if kind == "resistor":
            admittance = 1.0 / value
        elif kind == "inductor":
            admittance = 1.0 / (loss + 1j * omega * value)
        elif kind == "capacitor":
            admittance = 1.0 / (loss + 1.0 / (1j * omega * value))
        else:
            admittance = 1.0 / part["z_ohm"]
        a, b = part["between"]
        if a >= 0:
            y[:, a, a] += admittance
        if b >= 0:
            y[:, b, b] += admittance
        if a >= 0 and b >= 0:
            y[:, a, b] -= admittance
            y[:, b, a] -= admittance
    source = 1.0 / job["output_impedance_ohm"]
    y[:, 0, 0] += source
    i = numpy.zeros((nodes, 1), dtype=complex)
    i[0] = job["open_circuit_v"] * source
    return y, i


def solve(job):
    y, i = build(job)
    return numpy.linalg.solve(y, i)


def main():
    jobs = json.load(sys.stdin)
    results = []
    for job in jobs:
        for part in job["parts"]:
            if part["kind"] == "driver":
                part["z_ohm"] = numpy.array(part["z_re"]) + 1j * numpy.array(part["z_im"])
        v = solve(job)[:, :, 0]
        times = []
        for _ in range(job["repeats"]):
            start = time.perf_counter()
            solve(job)
            times.append(time.perf_counter() - start)
        times.sort()
        results.append(
            {
                "best_s": times[0],
                "median_s": times[len(times) // 2],
                "re": v.real.tolist(),
                "im": v.imag.tolist(),
            }
        )
    json.dump({"numpy": numpy.__version__, "results": results}, sys.stdout)


main()
