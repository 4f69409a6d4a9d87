"""numpy reference for the Monte Carlo bench: the faster of two ways, blocks of 16 k and whole arrays,
with the SFC64 generator. Arguments: case, samples, rounds. Prints one line of JSON."""

import json
import sys
import time

import numpy as np

case, samples, rounds = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])


def linear(rng, n):
    y = rng.normal(10, 0.01, n)
    for sign, mean, sd in ((-1, 20, 0.02), (1, 30, 0.015), (-1, 5, 0.01), (1, 8, 0.01), (-1, 12.98, 0.02), (1, 4, 0.005), (-1, 14, 0.01)):
        x = rng.standard_normal(n)
        x *= sign * sd
        x += sign * mean
        y += x
    return y


def angle(rng, n):
    a = rng.normal(27.645, 0.0166667, n)
    h = rng.normal(11.43, 0.0033333, n)
    h += rng.normal(11.43, 0.0033333, n)
    h *= 0.5
    e = rng.normal(50.8, 0.0041667, n)
    a += h
    e -= h
    a /= e
    return np.arccos(a, out=a)


def mixed(rng, n):
    y = rng.normal(10, 0.01, n)
    y -= rng.normal(1, 0.02, n)
    y += rng.normal(1, 0.015, n)
    y -= rng.normal(1, 0.01, n)
    y += rng.uniform(0.98, 1.02, n)
    y -= rng.uniform(0.97, 1.03, n)
    y += rng.uniform(0.99, 1.01, n)
    y -= rng.triangular(0.95, 1, 1.05, n)
    y += rng.triangular(0.97, 1, 1.03, n)
    y += rng.triangular(-0.02, 0, 0.02, n)
    return y


draw, low, high = {"linear": (linear, -0.1, 0.14), "angle": (angle, 0.112, 0.133), "mixed": (mixed, 9.85, 10.15)}[case]


def whole(rng):
    return draw(rng, samples)


def blocks(rng):
    y = np.empty(samples)
    for first in range(0, samples, 16384):
        last = min(samples, first + 16384)
        y[first:last] = draw(rng, last - first)
    return y


def figures(y):
    at = [int(0.00135 * samples), int(0.99865 * samples)]
    outside = np.count_nonzero(y < low) + np.count_nonzero(y > high)
    mean, sd = y.mean(), y.std(ddof=1)
    part = np.partition(y, at)
    return {"mean": mean, "sd": sd, "q0": part[at[0]], "q1": part[at[1]], "outside": outside / samples}


best = {}
for way in (whole, blocks):
    times = []
    for round in range(rounds):
        rng = np.random.Generator(np.random.SFC64(round))
        start = time.perf_counter()
        found = figures(way(rng))
        times.append(1e3 * (time.perf_counter() - start))
    times.sort()
    if not best or times[0] < best["best"]:
        best = {"ms": times[len(times) // 2], "best": times[0], **found}
print(json.dumps(best))
