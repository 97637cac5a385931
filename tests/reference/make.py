"""Writes the reference tables beside this file. See README.md."""

import csv
import itertools
import random
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import galois
import numpy as np
import skrf
from astropy import units as u
from geographiclib.geodesic import Geodesic
from pycraf import conversions
from scipy.special import fresnel
from scipy.stats import binom, norm

HERE = Path(__file__).parent


def write(name, header, rows):
    with open(HERE / name, "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(header)
        out.writerows(rows)


def dcs():
    generator = galois.Poly.Int(0xC75)
    for code in range(512):
        data = (0b100 << 9) | code
        parity = int(galois.Poly.Int(data << 11) % generator)
        yield f"{code:03o}", f"{(parity << 12) | data:06X}"


def designator(millihertz):
    value = Decimal(millihertz) / 1000
    digits = Decimal(1).scaleb(value.adjusted() - 2)
    if value >= 1:
        value = value.quantize(digits, rounding=ROUND_HALF_UP)
    for letter, unit in (("G", 10**9), ("M", 10**6), ("K", 10**3), ("H", 1)):
        if value >= unit or letter == "H":
            break
    whole, _, part = f"{value / unit:.9f}".partition(".")
    whole = "" if whole == "0" else whole
    return (whole + letter + part)[:4]


def designators(rng):
    for _ in range(400):
        hertz = int(10 ** rng.uniform(0, 10.9))
        yield hertz, designator(hertz * 1000)


def free_space(rng):
    for _ in range(100):
        mhz, km = rng.randrange(30, 3000), round(10 ** rng.uniform(-1, 3), 3)
        loss = -conversions.free_space_loss(km * u.km, mhz * u.MHz).value
        yield mhz, km, f"{loss:.6f}"


def knife_edge():
    for v in np.arange(-0.7, 5.01, 0.1):
        s, c = fresnel(v)
        amplitude = np.sqrt((1 - c - s) ** 2 + (c - s) ** 2) / 2
        # v = h sqrt(2/lambda (1/d1 + 1/d2)); with d1 = d2 = 10 km this is the height for 300 MHz.
        height = v / np.sqrt(2 / (299.792458 / 300) * (2 / 10_000))
        yield f"{height:.9f}", f"{-20 * np.log10(amplitude):.6f}"


def geodesics(rng):
    for _ in range(200):
        a, b = (round(rng.uniform(-85, 85), 4), round(rng.uniform(-180, 180), 4))
        reach = 10 ** rng.uniform(-3, 1)
        c, d = (round(a + rng.uniform(-reach, reach) / 2, 4), round(b + rng.uniform(-reach, reach), 4))
        if not (-90 <= c <= 90 and -180 <= d <= 180) or (a, b) == (c, d):
            continue
        found = Geodesic.WGS84.Inverse(a, b, c, d)
        yield a, b, c, d, f"{found['s12'] / 1000:.6f}", f"{found['azi1'] % 360:.6f}"


def normals(rng):
    for _ in range(100):
        margin, spread = round(rng.uniform(-30, 30), 2), round(rng.uniform(2, 12), 2)
        yield margin, spread, f"{norm.cdf(margin / spread):.10f}"


def binomials(rng):
    for _ in range(150):
        tried, share = rng.randrange(1, 400), round(rng.uniform(0.05, 0.99), 2)
        passed = rng.randrange(0, tried + 1)
        yield passed, tried, share, f"{binom.sf(passed - 1, tried, share):.10f}"


def products(carriers, fifth):
    for (fa, wa), (fb, wb) in itertools.permutations(carriers, 2):
        yield 2 * fa - fb, 2 * wa + wb
        if fifth:
            yield 3 * fa - 2 * fb, 3 * wa + 2 * wb
    for (fa, wa), (fb, wb) in itertools.combinations(carriers, 2):
        for fc, wc in carriers:
            if fc not in (fa, fb):
                yield fa + fb - fc, wa + wb + wc


def intermodulations(rng):
    for _ in range(60):
        raster = rng.choice([6_250, 7_500, 12_500, 1])
        spots = rng.sample(range(0, 200 if raster > 1 else 2_000_000), rng.randrange(2, 14))
        carriers = [(450_000_000 + raster * it, rng.choice([7_600, 11_200, 16_000])) for it in sorted(spots)]
        receiver = 450_000_000 + 6_250 * rng.randrange(-100, 400)
        counts = []
        for fifth in (False, True):
            hits = (2 * abs(f - receiver) <= w + 11_200 for f, w in products(carriers, fifth))
            counts.append(sum(hits))
        yield " ".join(f"{f}:{w}" for f, w in carriers), receiver, *counts


def mismatches():
    media = skrf.media.DefinedGammaZ0(skrf.Frequency(450, 450, 1, "MHz"), z0=50)
    for ratio in (1.05, 1.1, 1.2, 1.35, 1.5, 1.8, 2, 2.5, 3, 5, 10):
        load = media.load((ratio - 1) / (ratio + 1))
        reflected = abs(load.s[0, 0, 0])
        yield ratio, f"{-load.s_db[0, 0, 0]:.6f}", f"{-10 * np.log10(1 - reflected**2):.6f}"


if __name__ == "__main__":
    write("dcs.csv", ["code", "word"], dcs())
    write("designator.csv", ["hertz", "text"], designators(random.Random(1)))
    write("free_space.csv", ["mhz", "km", "db"], free_space(random.Random(2)))
    write("knife_edge.csv", ["above_line_m", "db"], knife_edge())
    write("geodesic.csv", ["lat_1", "lon_1", "lat_2", "lon_2", "km", "bearing"], geodesics(random.Random(3)))
    write("normal.csv", ["margin_db", "spread_db", "share"], normals(random.Random(4)))
    write("binomial.csv", ["passed", "tried", "share", "chance"], binomials(random.Random(5)))
    write("intermodulation.csv", ["carriers", "receiver", "third", "with_fifth"], intermodulations(random.Random(6)))
    write("mismatch.csv", ["vswr", "return_loss_db", "mismatch_db"], mismatches())
