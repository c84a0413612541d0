"""Nodal solution of small networks with 40 digits: an independent reference for the program's solver.

Reads one JSON object a line from standard input and writes one JSON list of [real, imaginary] texts a line.
Written from the textbook (Kirchhoff's current law at each node, dense LU with mpmath); it shares nothing with the
program but the list of elements.
"""

import json
import sys

import mpmath as mp

mp.mp.dps = 40


def admittance(element, omega):
    kind, first, second = element["kind"], mp.mpf(element["first"]), mp.mpf(element["second"])
    if kind == "resistance":
        return 1 / first
    if kind == "capacitance":
        return mp.mpc(0, omega * first)
    if kind == "load":
        return 1 / mp.mpc(first, omega * second)
    raise ValueError(f"no such element: {kind}")


def solve(network):
    omega = 2 * mp.pi * mp.mpf(network["hertz"])
    fixed = {int(node): mp.mpc(*volts) for node, volts in network["fixed"].items()}
    free = [node for node in range(network["nodes"]) if node not in fixed]
    row = {node: n for n, node in enumerate(free)}
    matrix, current = mp.zeros(len(free)), mp.zeros(len(free), 1)
    for node in free:
        matrix[row[node], row[node]] += mp.mpf(network["leak"])
    for element in network["elements"]:
        y = admittance(element, omega)
        for here, there in ((element["from"], element["to"]), (element["to"], element["from"])):
            if here not in row:
                continue
            matrix[row[here], row[here]] += y
            if there in row:
                matrix[row[here], row[there]] -= y
            else:
                current[row[here]] += y * fixed[there]
    volts = mp.lu_solve(matrix, current) if free else []
    every = [fixed[node] if node in fixed else volts[row[node]] for node in range(network["nodes"])]
    return [[mp.nstr(mp.re(v), 25), mp.nstr(mp.im(v), 25)] for v in every]


for line in sys.stdin:
    print(json.dumps(solve(json.loads(line))))
