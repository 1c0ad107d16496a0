"""The same flight with SciPy's solve_ivp, for scale: a right-hand side in Python, a general-purpose integrator.

Reads the rows that test/bench/flightData.ts writes. Every segment of the plan is one call of solve_ivp; kinks of the tables
are not landed on, so the steps are others and the end differs by what the tolerance lets through. Answers like flight.c,
"fly N" alone. Arguments: the file, and the method (RK45 or DOP853).
"""

import math
import sys
import time
from bisect import bisect_right

import numpy as np
from scipy.integrate import solve_ivp


def read_rows(path):
    with open(path, encoding="utf-8") as file:
        return {name: [float(x) for x in numbers] for name, _, *numbers in (line.split() for line in file)}


def chunks(numbers, size):
    return [numbers[i : i + size] for i in range(0, len(numbers), size)]


rows = read_rows(sys.argv[1])
method = sys.argv[2]
GM, OBLATE, EQUATORIAL, FLATTENING, ROTATION = rows["earth"]
RELATIVE, POSITION, SPEED, LONGEST, _ground = rows["limits"]
RADIUS, GAS, SOUND, HELD_SOUND = rows["air"]
LAYERS = chunks(rows["layers"], 5)
PARTS = [(b, k, int(f), int(n)) for b, k, f, n in chunks(rows["upperParts"], 4)]
UPPER = chunks(rows["upperTable"], 12)
AIR_EDGES = rows["airEdges"]
AREAS = rows["dragAreas"]
DRAG_EDGES = [rows[f"dragEdges{k}"] for k in range(len(AREAS))]
DRAG_PIECES = [chunks(rows[f"dragPieces{k}"], 5) for k in range(len(AREAS))]
ABSOLUTE = np.array([POSITION] * 3 + [SPEED] * 3)
UP, AHEAD = rows["up"], rows["ahead"]
VERTICAL, KICK, ZERO_ALPHA, LINEAR_TANGENT = range(4)


def air_at(height):
    """Density, pressure, speed of sound."""
    piece = bisect_right(AIR_EDGES, height)
    if piece < len(LAYERS):
        base, gradient, temperature, pressure, exponent = LAYERS[piece]
        rise = RADIUS * height / (RADIUS + height) - base
        here = temperature + gradient * rise
        depth = math.log(here / temperature) if gradient != 0 else rise
        p = pressure * math.exp(-exponent * depth)
        return p / (GAS * here), p, math.sqrt(SOUND * here)
    if piece < len(LAYERS) + len(PARTS):
        bottom, knots, first, last = PARTS[piece - len(LAYERS)]
        argument = (height - bottom) * knots
        interval = min(max(int(argument), 0), last)
        t = argument - interval
        c = UPPER[first + interval]
        density = math.exp(c[0] + t * (c[1] + t * (c[2] + t * c[3])))
        return density, density * (c[4] + t * (c[5] + t * (c[6] + t * c[7]))), HELD_SOUND
    return 0.0, 0.0, HELD_SOUND


class Law:
    """A steering law in force from time `start` and state y on."""

    def __init__(self, numbers, start, y):
        self.kind, self.start = int(numbers[0]), start
        self.first, self.second = numbers[1:3]
        self.up, self.ahead = UP, AHEAD
        if self.kind == LINEAR_TANGENT:
            r, v = np.array(y[:3]), np.array(y[3:])
            up = r / np.linalg.norm(r)
            ahead = v - (v @ up) * up
            self.up, self.ahead = up.tolist(), (ahead / np.linalg.norm(ahead)).tolist()

    def point(self, t, u):
        if self.kind == ZERO_ALPHA:
            return u
        if self.kind == VERTICAL:
            return self.up
        if self.kind == KICK:
            angle = self.first * min(max((t - self.start) / self.second, 0.0), 1.0)
            c, s = math.cos(angle), math.sin(angle)
        else:
            tangent = self.first + self.second * (t - self.start)
            s = 1 / math.sqrt(1 + tangent * tangent)
            c = tangent * s
        return [c * self.up[i] + s * self.ahead[i] for i in range(3)]


def right_hand_side(segment, law):
    start, _end, thrust0, thrust_rate, area0, area_rate, flow, flow_rate, mass0, drag, _law = segment
    edges, pieces, reference = DRAG_EDGES[int(drag)], DRAG_PIECES[int(drag)], AREAS[int(drag)]

    def derivative(t, state):
        x, y, z, vx, vy, vz = state.tolist()
        r2 = x * x + y * y + z * z
        r = math.sqrt(r2)
        central, oblate, s2 = -GM / (r2 * r), OBLATE / r2, z * z / r2
        side = central * (1 + oblate * (1 - 5 * s2))
        polar = central * (1 + oblate * (3 - 5 * s2))
        height = r - EQUATORIAL * (1 - FLATTENING * s2 * (1 + 1.5 * FLATTENING * (1 - s2)))
        density, pressure, sound = air_at(height)
        wx, wy = vx + ROTATION * y, vy - ROTATION * x
        speed = math.sqrt(wx * wx + wy * wy + vz * vz)
        u = [wx / speed, wy / speed, vz / speed] if speed > 1e-3 else [x / r, y / r, z / r]
        mach = speed / sound
        c = pieces[bisect_right(edges, mach)]
        m = mach - c[0]
        brake = 0.5 * density * speed * speed * reference * (c[1] + m * (c[2] + m * (c[3] + m * c[4])))
        tau = t - start
        mass = mass0 - tau * (flow + 0.5 * tau * flow_rate)
        push = (thrust0 + tau * thrust_rate - pressure * (area0 + tau * area_rate)) / mass
        brake /= mass
        d = law.point(t, u)
        return [
            vx,
            vy,
            vz,
            side * x + push * d[0] - brake * u[0],
            side * y + push * d[1] - brake * u[1],
            polar * z + push * d[2] - brake * u[2],
        ]

    return derivative


def fly():
    y = np.array(rows["start"])
    kind, first, second, start = rows["lawBefore"]
    law = Law([kind, first, second], start, y)
    laws = chunks(rows["laws"], 3)
    evaluations = steps = 0
    for segment in chunks(rows["segments"], 11):
        if segment[10] >= 0:
            law = Law(laws[int(segment[10])], segment[0], y)
        answer = solve_ivp(
            right_hand_side(segment, law),
            segment[:2],
            y,
            method=method,
            rtol=RELATIVE,
            atol=ABSOLUTE,
            max_step=LONGEST,
        )
        if not answer.success:
            sys.exit(answer.message)
        y = answer.y[:, -1]
        evaluations += answer.nfev
        steps += len(answer.t) - 1
    return y, evaluations, steps


for line in sys.stdin:
    command, count = line.split()
    if command != "fly":
        sys.exit(f"unknown command {command}")
    times = []
    for _ in range(int(count)):
        before = time.perf_counter_ns()
        end, evaluations, steps = fly()
        times.append(time.perf_counter_ns() - before)
    print(evaluations, steps, 0, 0, *(repr(float(x)) for x in end), *times, flush=True)
