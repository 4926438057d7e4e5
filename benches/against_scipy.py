"""Fits the networks it is given on standard input with scipy.optimize.least_squares.

Called by the program `against-scipy` of this folder, which searches the same networks with our own
search in the same run. The goal is written here a second time, from its definition, in whole-array
numpy: node admittances of all frequencies at once and one call of numpy.linalg.solve on the batch.
"""

import json
import sys
import time

import numpy
import scipy
import scipy.optimize


def array(pair):
    return numpy.array(pair["re"]) + 1j * numpy.array(pair["im"])


class Goal:
    def __init__(self, job):
        self.job = job
        self.omega = 2.0 * numpy.pi * numpy.array(job["f_hz"])
        self.variables = [p for p in job["parts"] if p["kind"] != "driver"]
        self.drivers = [p for p in job["parts"] if p["kind"] == "driver"]
        for driver in self.drivers:
            driver["z"] = array(driver["z_ohm"])
        self.sound = [array(s) for s in job["sound_pa_per_v"]]
        self.targets = [numpy.array(t) for t in job["target_db"]]
        self.weights = [numpy.array(w) for w in job["target_weight"]]
        self.tilt = numpy.array(job["tilt_db"])
        self.judged = numpy.array(job["judged"], dtype=bool)
        self.near = [numpy.array(n) for n in job["near_crossover"]]
        self.calls = 0

    def stamp(self, y, between, admittance):
        a, b = between
        if a >= 0:
            y[:, a, a] += admittance
        if b >= 0:
            y[:, b, b] += admittance
        if a >= 0 and b >= 0:
            y[:, a, b] -= admittance
            y[:, b, a] -= admittance

    def residuals(self, x):
        self.calls += 1
        job, omega = self.job, self.omega
        y = numpy.zeros((omega.size, job["nodes"], job["nodes"]), dtype=complex)
        for part, log in zip(self.variables, x):
            value = numpy.exp(log)
            if part["kind"] == "resistor":
                admittance = 1.0 / value
            elif part["kind"] == "inductor":
                loss = part["loss_scale"] * value ** part["loss_exponent"]
                admittance = 1.0 / (loss + 1j * omega * value)
            else:
                admittance = 1.0 / (part["loss"] + 1.0 / (1j * omega * value))
            self.stamp(y, part["between"], admittance)
        for driver in self.drivers:
            self.stamp(y, driver["between"], 1.0 / driver["z"])
        source = 1.0 / job["output_impedance_ohm"]
        y[:, 0, 0] += source
        current = numpy.zeros((job["nodes"], 1), dtype=complex)
        current[0] = job["open_circuit_v"] * source
        v = numpy.linalg.solve(y, current)[:, :, 0]

        level = x[-1] * 20.0 / numpy.log(10.0)

        def at(node):
            return v[:, node] if node >= 0 else 0.0

        ways = [
            (at(d["between"][0]) - at(d["between"][1])) * s * (-1.0 if d["inverted"] else 1.0)
            for d, s in zip(self.drivers, self.sound)
        ]
        db = lambda p: 20.0 * numpy.log10(numpy.abs(p) / 20e-6)
        acceptable = job["weights"]
        rows = []
        for way, target, weight in zip(ways, self.targets, self.weights):
            scale = numpy.sqrt(weight / weight.sum()) / acceptable["match_db"]
            rows.append(scale * (db(way) - level - target))
        points = numpy.sqrt(omega.size)
        off = (db(sum(ways)) - level - self.tilt)[self.judged]
        rows.append(off / (numpy.sqrt(self.judged.sum()) * acceptable["sum_db"]))
        for c, near in enumerate(self.near):
            turn = numpy.degrees(numpy.angle(ways[c] * ways[c + 1].conj()))[near]
            rows.append(turn / (numpy.sqrt(near.sum()) * acceptable["phase_deg"]))
        rows.append(numpy.array([job["loudest_db"] - level]) / acceptable["level_db"])
        drawn = (job["open_circuit_v"] - v[:, 0]) * source / v[:, 0]
        short = numpy.maximum(job["least_load_ohm"] * numpy.abs(drawn) - 1.0, 0.0)
        rows.append(short / (points * acceptable["load"]))
        return numpy.concatenate(rows)


def main():
    job = json.load(sys.stdin)
    goal = Goal(job)
    lower, upper = numpy.array(job["lower"]), numpy.array(job["upper"])
    fits = []
    for start in job["starts"]:
        x0 = numpy.clip(numpy.array(start), lower + 1e-9, upper - 1e-9)
        goal.calls = 0
        begun = time.perf_counter()
        fit = scipy.optimize.least_squares(
            goal.residuals, x0, bounds=(lower, upper), method="trf", x_scale=1.0
        )
        fits.append(
            {
                "start_cost": float((goal.residuals(numpy.array(start)) ** 2).sum()),
                "cost": float(2.0 * fit.cost),
                "seconds": time.perf_counter() - begun,
                "calls": goal.calls,
            }
        )
    json.dump({"scipy": scipy.__version__, "fits": fits}, sys.stdout)


main()
