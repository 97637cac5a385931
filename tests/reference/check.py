"""Holds `guywire compute` to independent open-source libraries and to printed tables. See README.md.

    GUYWIRE=/absolute/path/of/guywire check.py

A check yields requests, each with the members of the answer that it expects and how near they must be. One failure ends the
run with code 1; the last line counts the oracles.
"""

import itertools
import json
import math
import os
import random
import subprocess
import sys
from decimal import Decimal

import galois
import numpy as np
import pyproj
import skrf
from astropy import units as u
from geographiclib.geodesic import Geodesic
from itmlogic.diffraction_attenuation.aknfe import aknfe
from pycraf import conversions
from scipy.constants import Boltzmann, speed_of_light
from scipy.special import fresnel
from scipy.stats import binom, norm

from make import designator, products


def near(value, within):
    return lambda found: found is not None and math.isclose(found, value, rel_tol=0, abs_tol=within), f"{value} ± {within}"


def same(value):
    return lambda found: found == value, repr(value)


def between(low, high):
    return lambda found: low <= found <= high, f"{low} to {high}"


def ask(name, **members):
    return {"compute": name, **members}


# ---- squelch ------------------------------------------------------------------------------------------------------


def dcs():
    """Words by polynomial remainder over GF(2); aliases and twins by rotating them (TIA-603)."""
    generator = galois.Poly.Int(0xC75)
    mask = (1 << 23) - 1
    words = {}
    for code in range(512):
        data = (0b100 << 9) | code
        words[code] = (int(galois.Poly.Int(data << 11) % generator) << 12) | data
    turned = {code: [((word << by) | (word >> (23 - by))) & mask for by in range(23)] for code, word in words.items()}
    # The code that a rotation reads as, where its fixed bits are in place.
    reads = lambda rotations: sorted({word & 0o777 for word in rotations if (word >> 9) & 0b111 == 0b100})
    for code, word in words.items():
        octal = lambda codes: [f"{it:03o}" for it in codes]
        inverted = [it ^ mask for it in turned[code]]
        yield ask("dcs", code=f"{code:03o}N"), {
            "word": same(f"{word:06X}"),
            "aliases": same(octal(it for it in reads(turned[code]) if it != code)),
            "twins": same(octal(reads(inverted))),
            "stream": same(min(turned[code])),
        }


def polynomial():
    """x^23 + 1 = (x + 1) 0xC75 0xAE3 over GF(2), so that the words are those of a cyclic code."""
    product = galois.Poly.Int(0b11) * galois.Poly.Int(0xC75) * galois.Poly.Int(0xAE3)
    assert int(product) == (1 << 23) | 1
    # The reciprocal polynomial with the other order of bits is the mistake to make.
    yield ask("dcs", code="023N"), {"word": (lambda found: found == "763813" and found != "7E8813", "763813")}


def ctcss():
    """Neighbors under 2.5 % in the published list of fifty tones, by decimal arithmetic."""
    tones = """67.0 69.3 71.9 74.4 77.0 79.7 82.5 85.4 88.5 91.5 94.8 97.4 100.0 103.5 107.2 110.9 114.8 118.8 123.0 127.3
        131.8 136.5 141.3 146.2 151.4 156.7 159.8 162.2 165.5 167.9 171.3 173.8 177.3 179.9 183.5 186.2 189.9 192.8 196.6
        199.5 203.5 206.5 210.7 218.1 225.7 229.1 233.6 241.8 250.3 254.1""".split()
    for tone in map(Decimal, tones):
        apart = lambda other: abs(other - tone) / min(other, tone)
        confused = [it for it in map(Decimal, tones) if it != tone and apart(it) < Decimal("0.025")]
        yield ask("ctcss", hz=float(tone)), {
            "standard": same(True),
            "nearest_hz": same(float(tone)),
            "confusable_hz": same([float(it) for it in confused]),
        }


# ---- emissions ----------------------------------------------------------------------------------------------------


def designators():
    """47 CFR 2.202(b)(3): three significant digits, half rounded up, by decimal arithmetic."""
    rng = random.Random(11)
    for _ in range(300):
        hertz = int(10 ** rng.uniform(0, 10.9))
        yield ask("designator", bandwidth_hz=hertz, kind="F3E"), {"designator": same(designator(hertz * 1000) + "F3E")}
    printed = {"H002": 0.002, "H100": 0.1, "25H3": 25.3, "400H": 400, "2K40": 2400, "6K00": 6000, "12K5": 12500,
               "180K": 180_000, "1M25": 1_250_000, "2M00": 2e6, "10M0": 10e6, "202M": 202e6, "5G65": 5.65e9}
    for text, hertz in printed.items():
        yield ask("emission", designator=text + "F3E"), {"bandwidth_hz": near(hertz, 1e-6)}


def necessary_bandwidth():
    """Carson's rule against the sidebands themselves: by Bessel functions, 97 % of the power of one tone and more is in it."""
    from scipy.special import jv

    for modulating, deviation in [(3000, 2500), (3000, 4000), (3000, 5000), (2550, 2500), (3125, 2500)]:
        index = deviation / modulating
        lines = int((modulating + deviation) // modulating)
        power = jv(0, index) ** 2 + 2 * sum(jv(order, index) ** 2 for order in range(1, lines + 1))
        assert power > 0.97, power
        yield ask("necessary-bandwidth", modulating_hz=modulating, deviation_hz=deviation), {
            "bandwidth_hz": same(2 * (modulating + deviation))
        }


def occupied_bands():
    rng = random.Random(12)
    for _ in range(100):
        carrier = 6_250 * rng.randrange(24_000, 75_000)
        width, ppm = rng.choice([7_600, 11_200, 16_000]), rng.choice([0, 0.5, 1.5, 2.5, 5])
        off = math.ceil(Decimal(carrier) * Decimal(str(ppm)) / 1_000_000)
        yield ask("occupied-band", frequency_mhz=carrier / 1e6, bandwidth_khz=width / 1e3, ppm=ppm), {
            "low_hz": same(carrier - width // 2 - off),
            "high_hz": same(carrier + width // 2 + off),
        }


# ---- power --------------------------------------------------------------------------------------------------------


def powers():
    """The logarithmic units of astropy."""
    for dbm in np.linspace(-120, 70, 60):
        watts = float((dbm * u.dB(u.mW)).to(u.W).value)
        yield ask("power", dbm=float(dbm)), {"watts": near(watts, watts * 1e-9)}
        yield ask("power", watts=watts), {"dbm": near(float(dbm), 1e-9)}


def radiated():
    rng = random.Random(13)
    for _ in range(100):
        watts, gain, loss = round(rng.uniform(0.1, 100), 2), round(rng.uniform(-10, 15), 2), round(rng.uniform(0, 6), 2)
        eirp = watts * 10 ** ((gain - loss) / 10)
        # 47 CFR 2.1: relative to a half-wave dipole, whose gain the trade takes as 2.15 dBi.
        yield ask("radiated-power", watts=watts, gain_dbi=gain, loss_db=loss), {
            "eirp_w": near(eirp, eirp * 1e-9),
            "erp_w": near(eirp / 10**0.215, eirp * 1e-9),
        }


def exposures():
    """47 CFR 1.1310, table 1; OET Bulletin 65, equation 3; the field of pycraf at that distance meets the limit."""
    rng = random.Random(14)
    for _ in range(100):
        mhz, eirp, who = round(rng.uniform(31, 1499), 3), round(rng.uniform(0.5, 500), 2), rng.choice(["public", "workers"])
        limit = {"public": 0.2, "workers": 1.0}[who] if mhz < 300 else mhz / {"public": 1500, "workers": 300}[who]
        meters = math.sqrt(eirp * 1000 / (4 * math.pi * limit)) / 100
        density = conversions.powerflux_from_ptx(eirp * u.W, meters * u.m, 0 * conversions.dBi).to(u.mW / u.cm**2).value
        assert math.isclose(density, limit, rel_tol=1e-9)
        yield ask("exposure", frequency_mhz=mhz, eirp_w=eirp, exposed=who), {
            "limit_mw_per_cm2": near(limit, 1e-9),
            "distance_m": near(meters, meters * 1e-9),
        }
        yield ask("exposure", frequency_mhz=mhz, eirp_w=eirp, exposed=who, reflecting=True), {
            "distance_m": near(1.6 * meters, meters * 1e-9)
        }


def mismatches():
    """A load at the end of a line, by scikit-rf."""
    media = skrf.media.DefinedGammaZ0(skrf.Frequency(450, 450, 1, "MHz"), z0=50)
    for ratio in (1.05, 1.1, 1.2, 1.35, 1.5, 1.8, 2, 2.5, 3, 5, 10):
        load = media.load((ratio - 1) / (ratio + 1))
        reflected = abs(load.s[0, 0, 0])
        yield ask("mismatch", forward_w=10, reflected_w=10 * float(reflected**2)), {
            "vswr": near(float(load.s_vswr[0, 0, 0]), 1e-6),
            "return_loss_db": near(float(-load.s_db[0, 0, 0]), 1e-6),
            "mismatch_loss_db": near(-10 * math.log10(1 - reflected**2), 1e-6),
        }


# ---- paths --------------------------------------------------------------------------------------------------------


def wavelengths():
    for mhz in (30, 121.5, 155.34, 446.00625, 453.2125, 1300):
        wave = speed_of_light / (mhz * 1e6)
        yield ask("wavelength", frequency_mhz=mhz), {
            "wavelength_m": near(wave, 1e-9),
            "quarter_wave_m": near(wave / 4, 1e-9),
        }


def free_space():
    """pycraf, and the printed form of Recommendation ITU-R P.525 within the rounding of its constant."""
    rng = random.Random(15)
    for _ in range(200):
        mhz, km = round(rng.uniform(30, 3000), 4), round(10 ** rng.uniform(-1, 3), 3)
        loss = -conversions.free_space_loss(km * u.km, mhz * u.MHz).value
        printed = 32.4 + 20 * math.log10(mhz) + 20 * math.log10(km)
        yield ask("free-space-loss", frequency_mhz=mhz, distance_km=km), {"loss_db": near(loss, 1e-6)}
        yield ask("free-space-loss", frequency_mhz=mhz, distance_km=km), {"loss_db": near(printed, 0.05)}


def plane_earth():
    rng = random.Random(16)
    for _ in range(100):
        km, a, b = round(rng.uniform(1, 60), 3), round(rng.uniform(1, 100), 1), round(rng.uniform(1, 100), 1)
        loss = 40 * math.log10(km * 1000) - 20 * math.log10(a * b)
        yield ask("plane-earth-loss", distance_km=km, height_1_m=a, height_2_m=b), {"loss_db": near(loss, 1e-9)}
        mhz = round(rng.uniform(30, 1000), 3)
        free = -conversions.free_space_loss(km * u.km, mhz * u.MHz).value
        yield ask("path-loss", frequency_mhz=mhz, distance_km=km, height_1_m=a, height_2_m=b), {
            "loss_db": near(max(free, loss), 1e-6)
        }


def horizons():
    """The tangent over an earth of 4/3 its radius: the printings differ by 0.3 %."""
    rng = random.Random(17)
    for _ in range(50):
        a, b = round(rng.uniform(1, 500), 1), round(rng.uniform(1, 500), 1)
        tangent = (math.sqrt(2 * 4 / 3 * 6_371_000 * a) + math.sqrt(2 * 4 / 3 * 6_371_000 * b)) / 1000
        yield ask("radio-horizon", height_1_m=a, height_2_m=b), {"distance_km": near(tangent, tangent * 0.003)}


def knife_edges():
    """Fresnel integrals of scipy; the edge of the Longley-Rice model (itmlogic) as a bound."""
    for v in np.arange(-0.7, 5.01, 0.05):
        s, c = fresnel(v)
        exact = -20 * math.log10(math.sqrt((1 - c - s) ** 2 + (c - s) ** 2) / 2)
        wave = speed_of_light / 300e6
        height = float(v / math.sqrt(2 / wave * (2 / 10_000)))
        request = ask("knife-edge", frequency_mhz=300, above_line_m=height, distance_1_m=10_000, distance_2_m=10_000)
        yield request, {"parameter": near(float(v), 1e-6), "loss_db": near(exact, 0.13)}
        if v > 0.1:
            # itmlogic takes the square of the parameter; its approximation is within 0.2 dB of the exact loss.
            bound = aknfe(v * v)
            yield request, {"loss_db": between(bound - 0.35, bound + 0.35)}


def fresnel_zones():
    """The ellipsoid itself: a path over its rim is half a wave longer; P.526 prints 550 for 547.5."""
    rng = random.Random(18)
    for _ in range(50):
        mhz, a, b = round(rng.uniform(100, 1000), 3), rng.uniform(1000, 20_000), rng.uniform(1000, 20_000)
        a, b, wave = round(a, 1), round(b, 1), speed_of_light / (mhz * 1e6)
        request = ask("knife-edge", frequency_mhz=mhz, above_line_m=0, distance_1_m=a, distance_2_m=b)
        longer = lambda r: math.hypot(a, r) + math.hypot(b, r) - a - b - wave / 2
        low, high = 0.0, 2000.0
        for _ in range(80):
            middle = (low + high) / 2
            low, high = (middle, high) if longer(middle) < 0 else (low, middle)
        printed = 550 * math.sqrt(a * b / 1e6 / ((a + b) / 1e3 * mhz))
        yield request, {"fresnel_radius_m": near(low, low * 1e-3)}
        yield request, {"fresnel_radius_m": near(printed, printed * 0.005)}


def geodesics():
    """geographiclib, and pyproj, whose code is another."""
    rng, ellipsoid = random.Random(19), pyproj.Geod(ellps="WGS84")
    for _ in range(200):
        a, b = round(rng.uniform(-85, 85), 4), round(rng.uniform(-179, 179), 4)
        reach = 10 ** rng.uniform(-3, 0.5)
        c, d = round(a + rng.uniform(-reach, reach) / 2, 4), round(b + rng.uniform(-reach, reach), 4)
        if not (-90 <= c <= 90 and -180 <= d <= 180) or (a, b) == (c, d):
            continue
        found = Geodesic.WGS84.Inverse(a, b, c, d)
        yield ask("geodesic", **{"from": [a, b], "to": [c, d]}), {
            "distance_km": near(found["s12"] / 1000, 1e-6),
            "bearing_deg": near(found["azi1"] % 360, 1e-4),
        }
        azimuth, _, meters = ellipsoid.inv(b, a, d, c)
        yield ask("geodesic", **{"from": [a, b], "to": [c, d]}), {
            "distance_km": near(meters / 1000, 1e-6),
            "bearing_deg": near(azimuth % 360, 1e-4),
        }


# ---- receivers, statistics, intermodulation, bench ----------------------------------------------------------------


def noise():
    for khz in (6, 7.6, 8.5, 11.25, 12.5, 16, 25):
        for figure in (0, 6, 8):
            dbm = 10 * math.log10(Boltzmann * 290 * khz * 1e3 * 1e3) + figure
            yield ask("noise-floor", bandwidth_khz=khz, noise_figure_db=figure), {"dbm": near(dbm, 1e-6)}
    for microvolts in (0.18, 0.22, 0.25, 0.35, 0.5, 1):
        dbm = 10 * math.log10((microvolts * 1e-6) ** 2 / 50 * 1e3)
        yield ask("microvolts", microvolts=microvolts), {"dbm": near(dbm, 1e-9)}


def statistics():
    rng = random.Random(20)
    for _ in range(100):
        margin, spread = round(rng.uniform(-30, 30), 2), round(rng.uniform(2, 12), 2)
        yield ask("reliability", margin_db=margin, spread_db=spread), {"share": near(float(norm.cdf(margin / spread)), 1e-9)}
        tried, share = rng.randrange(1, 400), round(rng.uniform(0.05, 0.99), 2)
        passed = rng.randrange(0, tried + 1)
        chance = float(binom.sf(passed - 1, tried, share))
        yield ask("passes", passed=passed, tried=tried, share=share), {"chance": near(chance, 1e-8)}


def intermodulation():
    """Every product tried."""
    rng = random.Random(21)
    for _ in range(60):
        raster = rng.choice([6_250, 7_500, 12_500, 1])
        spots = rng.sample(range(0, 200 if raster > 1 else 2_000_000), rng.randrange(2, 12))
        carriers = [(450_000_000 + raster * it, rng.choice([7_600, 11_200, 16_000])) for it in sorted(spots)]
        receiver = 450_000_000 + 6_250 * rng.randrange(-100, 400)
        in_words = [{"frequency_mhz": f / 1e6, "bandwidth_khz": w / 1e3} for f, w in carriers]
        for fifth in (False, True):
            hits = sum(2 * abs(f - receiver) <= w + 11_200 for f, w in products(carriers, fifth))
            yield ask(
                "intermodulation",
                carriers=in_words,
                receiver={"frequency_mhz": receiver / 1e6, "bandwidth_khz": 11.2},
                fifth_order=fifth,
            ), {"count": same(hits)}


def bench():
    """An interval by arithmetic; the meter's own error decides where it straddles the window."""
    rng = random.Random(22)
    for _ in range(100):
        full, accuracy = rng.choice([5, 10, 15, 25, 50]), rng.choice([2, 5])
        watts, rated, loss = round(rng.uniform(0.2, full), 2), rng.choice([1, 4, 5, 25]), rng.choice([0, 0.35, 1.0])
        error, factor = full * accuracy / 100, 10 ** (loss / 10)
        low, high = max(watts - error, 0) * factor, (watts + error) * factor
        least, most = rated / 10**0.15, rated * 10**0.15
        verdict = "under" if high < least else "over" if low > most else "pass" if least <= low and high <= most else None
        yield ask(
            "bench-reading", watts=watts, full_scale_w=full, accuracy_percent=accuracy, path_loss_db=loss, rated_w=rated,
            tolerance_db=1.5,
        ), {
            "low_w": near(low, 1e-9),
            "high_w": near(high, 1e-9),
            "window_low_w": near(least, 1e-9),
            "verdict": same(verdict or "inconclusive"),
        }


def batteries():
    for mah, draw, split in itertools.product((2000, 2300), ((1500, 200, 60), (700, 200, 60)), ((5, 5), (10, 10))):
        mean = (split[0] * draw[0] + split[1] * draw[1] + (100 - sum(split)) * draw[2]) / 100
        members = dict(zip(("transmit_ma", "receive_ma", "standby_ma"), draw))
        yield ask("battery", mah=mah, transmit_percent=split[0], receive_percent=split[1], **members), {
            "mean_ma": near(mean, 1e-9),
            "hours": near(mah / mean, 1e-9),
        }


def feedlines():
    """The printed figures, and between them a power law."""
    for line, low, high in (("RG-213", 8.9, 16.3), ("RG-8 foam", 7.2, 13.0)):
        yield ask("feedline-loss", line=line, frequency_mhz=150, length_m=100), {"loss_db": near(low, 1e-9)}
        yield ask("feedline-loss", line=line, frequency_mhz=450, length_m=100), {"loss_db": near(high, 1e-9)}
        for mhz in (160, 220, 300, 420):
            power = low * (mhz / 150) ** (math.log(high / low) / math.log(3))
            yield ask("feedline-loss", line=line, frequency_mhz=mhz, length_m=100), {"loss_db": near(power, 1e-6)}


CHECKS = [
    dcs, polynomial, ctcss, designators, necessary_bandwidth, occupied_bands, powers, radiated, exposures, mismatches,
    wavelengths, free_space, plane_earth, horizons, knife_edges, fresnel_zones, geodesics, noise, statistics,
    intermodulation, bench, batteries, feedlines,
]


def answers(program: str, requests: list[dict]) -> list[dict]:
    lines = "".join(json.dumps(request) + "\n" for request in requests)
    done = subprocess.run([program, "compute"], input=lines, capture_output=True, text=True, check=True)
    found = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(found) == len(requests), f"{len(found)} answers to {len(requests)} requests"
    return found


def main() -> int:
    program = os.environ["GUYWIRE"]
    oracles, failures = 0, 0
    for check in CHECKS:
        asked = list(check())
        assert asked, check.__name__
        count = 0
        for (request, expected), found in zip(asked, answers(program, [request for request, _ in asked]), strict=True):
            for member, (holds, wanted) in expected.items():
                count += 1
                if "error" in found or not holds(found.get(member)):
                    failures += 1
                    print(f"{check.__name__}: {json.dumps(request)}: {member} is {found}, wanted {wanted}")
        oracles += count
        print(f"{check.__name__:24}{count:6}")
    print(f"{oracles} oracles, {failures} failed")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
