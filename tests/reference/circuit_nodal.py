"""Nodal solution of networks with 40 digits: an independent reference for the program's solver.

Reads one JSON object a line from standard input and writes one JSON list of [real, imaginary] texts a line.
Written from the textbook: Kirchhoff's current law at each node gives a symmetric matrix; Gaussian elimination with
mpmath, the row with the fewest other entries first, and back-substitution. It subtracts where the textbook does, and
carries so many digits that this costs nothing. It shares nothing with the program but the list of elements.
"""

import heapq
import json
import sys

import mpmath as mp

# A leak of 1e-12 S beside a joint of 1e4 S loses 16 digits in the subtraction; 24 are left.
mp.mp.dps = 40


def admittance(element, omega):
    kind, first, second = element["kind"], mp.mpf(element["first"]), mp.mpf(element["second"])
    if kind == "resistance":
        return mp.mpc(1 / first)
    if kind == "capacitance":
        return mp.mpc(0, omega * first)
    if kind == "load":
        return 1 / mp.mpc(first, omega * second)
    raise ValueError(f"no such element: {kind}")


def equations(network, fixed):
    """Rows of the matrix as dictionaries, and the currents that the sources send."""
    omega = 2 * mp.pi * mp.mpf(network["hertz"])
    rows = {node: {node: mp.mpc(mp.mpf(network["leak"]))} for node in range(network["nodes"]) if node not in fixed}
    currents = {node: mp.mpc(0) for node in rows}
    for element in network["elements"]:
        y = admittance(element, omega)
        for here, there in ((element["from"], element["to"]), (element["to"], element["from"])):
            if here not in rows:
                continue
            rows[here][here] += y
            if there in rows:
                rows[here][there] = rows[here].get(there, 0) - y
            else:
                currents[here] += y * fixed[there]
    return rows, currents


def solve(network):
    fixed = {int(node): mp.mpc(*volts) for node, volts in network["fixed"].items()}
    rows, currents = equations(network, fixed)
    queue = [(len(row), node) for node, row in rows.items()]
    heapq.heapify(queue)
    done = []
    while queue:
        size, pivot = heapq.heappop(queue)
        if pivot not in rows or size != len(rows[pivot]):
            continue
        row = rows.pop(pivot)
        diagonal = row.pop(pivot)
        done.append((pivot, row, diagonal, currents[pivot]))
        entries = list(row.items())
        for n, (node, value) in enumerate(entries):
            factor = value / diagonal
            del rows[node][pivot]
            currents[node] -= factor * currents[pivot]
            rows[node][node] -= factor * value
            for other, second in entries[n + 1 :]:
                entry = rows[node].get(other, 0) - factor * second
                rows[node][other] = rows[other][node] = entry
        for node, _ in entries:
            heapq.heappush(queue, (len(rows[node]), node))
    volts = dict(fixed)
    for node, row, diagonal, current in reversed(done):
        volts[node] = (current - sum(value * volts[other] for other, value in row.items())) / diagonal
    every = [volts[node] for node in range(network["nodes"])]
    return [[mp.nstr(mp.re(v), 25), mp.nstr(mp.im(v), 25)] for v in every]


for line in sys.stdin:
    print(json.dumps(solve(json.loads(line))), flush=True)
