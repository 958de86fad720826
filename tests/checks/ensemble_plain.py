"""The weekly ensemble of a garden in plain numpy, to compare results and speed with.

cargo bench --bench ensemble -- GARDEN 10000 NUMBERS    writes the numbers of a garden
python3 ensemble_plain.py NUMBERS --compare             computes the same and prints how far the weekly means agree

Growing-day tables for each made year, a search for maturity and for each end, the shape looked up at the picking before
each week's edge, quantiles of every crop and of the garden. Left out: frost between the first and the last of a cold
season, pickings too small to be worth while, events already logged, extra pickings before an absence.
"""

import csv
import json
import pathlib
import sys

import numpy as np

NEVER = 10_000
WARMER_K, SOIL_WARMER_K, CHILL_C = 2.0, 2.0, 8.0
USABLE, STANDSTILL = 0.75, 0.15 * 7


class Numbers:
    """What the bench wrote."""

    def __init__(self, folder):
        folder = pathlib.Path(folder)
        sizes = json.loads((folder / "sizes.json").read_text())
        self.days, self.draws = sizes["days"], sizes["draws"]
        self.mean = np.fromfile(folder / "mean_c.f32", np.float32).reshape(-1, self.days)
        self.hours = np.fromfile(folder / "daylight.f32", np.float32).astype(float)
        self.cold = np.fromfile(folder / "cold.i32", np.int32).reshape(
            self.draws, sizes["thresholds"], sizes["winters"], 2
        )
        self.run = np.arange(self.draws) * len(self.mean) // self.draws
        with open(folder / "plantings.csv", newline="") as file:
            self.plantings = [Planting(row) for row in csv.DictReader(file)]


class Planting:
    """One row, empty cells as None."""

    def __init__(self, row):
        for key, text in row.items():
            if key in ("covers", "reached", "pattern"):
                value = text
            else:
                value = float(text) if text else None
            setattr(self, key, value)
        self.start, self.limit, self.pick_every = int(self.start), int(self.limit), int(self.pick_every)
        self.crop = int(self.crop)
        self.second_crop = None if self.second_crop is None else int(self.second_crop)
        self.covers = [tuple(map(int, c.split(":"))) for c in self.covers.split(";") if c]
        self.reached = np.array([float(x) for x in self.reached.split(";")])


def tables(numbers, p, dtype=float):
    """Running sums over each made year: growth, coming up, cold days, growth under heat, light and either; and for each
    day the next one at whose end a week's growth has all but stopped."""
    t = numbers.mean.astype(dtype)
    if p.warm_from is not None:
        t[:, int(p.warm_from) : int(p.warm_until)] += WARMER_K
    hours = numbers.hours.astype(dtype)

    def running(rate):
        out = np.zeros((len(t), numbers.days + 1), dtype)
        np.cumsum(rate, axis=1, out=out[:, 1:])
        return out

    if p.calendar:
        rate = hot_rate = np.ones_like(t)
    else:
        hot_rate = np.clip((t - p.base_c) / max(p.full_c - p.base_c, 0.1), 0, 1)
        if p.day_length:
            hot_rate = np.minimum(hot_rate, np.clip(0.4 + 0.6 * (hours - 10) / 2.5, 0.4, 1))
        rate = hot_rate
        if p.ceiling_c is not None:
            rate = np.minimum(rate, np.clip(1 - (t - p.ceiling_c) / 8, 0, 1))
    out = {"growth": running(rate)}
    if p.up_base_c is not None:
        out["up"] = running(np.clip(t + SOIL_WARMER_K - p.up_base_c, 0, 60))
    if p.bolt_days is not None:
        hot = t > (np.inf if p.bolt_above_c is None else p.bolt_above_c)
        lengthening = np.diff(hours, prepend=hours[0]) > 0
        bright = lengthening & (hours > (np.inf if p.bolt_above_hours is None else p.bolt_above_hours))
        out["heat"] = running(hot_rate * hot)
        out["light"] = running(hot_rate * bright)
        out["either"] = running(hot_rate * (hot | bright))
        out["chill"] = running((t < CHILL_C).astype(dtype))
    if p.usable_early:
        g = out["growth"]
        slow = np.full((len(t), numbers.days + 1), NEVER)
        slow[:, 6:-1] = np.where(g[:, 7:] - g[:, :-7] < STANDSTILL, np.arange(6, numbers.days), NEVER)
        out["still"] = np.minimum.accumulate(slow[:, ::-1], axis=1)[:, ::-1]
    return out


def key(p):
    """Plantings with the same key share their tables."""
    return (p.calendar, p.base_c, p.full_c, p.ceiling_c, p.day_length, p.warm_from, p.warm_until, p.up_base_c,
            p.bolt_above_c, p.bolt_above_hours, p.bolt_days is None, p.usable_early)


class Reach:
    """Searches a running sum: rows are laid end to end, each raised above the one before."""

    def __init__(self, table):
        self.table = table
        self.lift = table.max() + 1000.0
        self.flat = (table + self.lift * np.arange(len(table))[:, None]).ravel()

    def __call__(self, run, start, need, limit):
        """First day from `start` on by whose end the sum has grown by `need`."""
        width = self.table.shape[1]
        target = self.table[run, start] + need + self.lift * run
        day = np.searchsorted(self.flat, target) - run * width - 1
        return np.where(np.maximum(day, start) < limit, np.maximum(day, start), NEVER)


def first_cold(numbers, p, up):
    """First day of killing cold from the day it is up."""
    day = np.full(len(up), NEVER)
    for start, until, threshold in p.covers:
        since = np.maximum(up, start)
        for winter in range(numbers.cold.shape[2]):
            first, last = numbers.cold[:, threshold, winter, 0], numbers.cold[:, threshold, winter, 1]
            hit = np.where(first >= since, first, np.where(last >= since, last, NEVER))
            hit = np.where((first <= last) & (hit < min(until, p.limit)), hit, NEVER)
            day = np.minimum(day, hit)
    return day


def bolting(run, p, reach, need):
    """Day on which a planting bolts."""
    either = reach["either"]
    heat_from = np.minimum(reach["growth"](run, p.start, 0.6 * need, p.limit), p.limit)
    light_from = np.minimum(reach["growth"](run, p.start, 0.3 * need, p.limit), p.limit)
    if p.bolt_cold_days is not None:
        light_from = np.maximum(light_from, np.minimum(reach["chill"](run, p.start, p.bolt_cold_days, p.limit), p.limit))
    first, second = np.minimum(heat_from, light_from), np.maximum(heat_from, light_from)
    by_heat = heat_from <= light_from
    alone = np.where(by_heat, reach["heat"](run, first, p.bolt_days, second), reach["light"](run, first, p.bolt_days, second))
    had = np.where(by_heat, reach["heat"].table[run, second] - reach["heat"].table[run, first],
                   reach["light"].table[run, second] - reach["light"].table[run, first])
    both = either(run, second, np.maximum(p.bolt_days - had, 0), p.limit)
    enough = either.table[run, p.limit] - either.table[run, p.start] >= p.bolt_days
    return np.where(enough & (first < p.limit), np.minimum(alone, both), NEVER)


def ensemble(numbers, rng):
    """kg of each crop; shape draws x weeks."""
    weeks = -(-numbers.days // 7)
    draws, run = numbers.draws, numbers.run
    every_draw = np.arange(draws)
    edges = np.minimum(7 * np.arange(1, weeks + 1), numbers.days)
    known, crops, crop_z = {}, {}, {}
    garden_z = rng.standard_normal(draws)
    for p in numbers.plantings:
        if p.kg == 0:
            continue
        if key(p) not in known:
            found = tables(numbers, p)
            known[key(p)] = found, {name: Reach(t) for name, t in found.items() if name != "still"}
        table, reach = known[key(p)]
        growth = table["growth"]
        if p.crop not in crop_z:
            crop_z[p.crop] = np.sqrt(0.3) * garden_z + np.sqrt(0.7) * rng.standard_normal(draws)
        kg = p.kg * np.exp(p.shared_sd * crop_z[p.crop] + p.own_sd * rng.standard_normal(draws) - p.half_variance)
        kg[rng.random(draws) < p.fail_chance] = 0
        need = p.days * np.maximum(1 + p.days_cv * rng.standard_normal(draws), 0.5) + (p.second_delay or 0)
        mature = reach["growth"](run, p.start, need, p.limit)

        # Ends, and whether one sees them coming.
        up = np.full(draws, p.start) if p.up_base_c is None else reach["up"](run, p.start, p.up_degree_days, p.limit)
        cold = first_cold(numbers, p, up)
        bolt = np.full(draws, NEVER) if p.bolt_days is None else bolting(run, p, reach, need)
        pest = np.where(rng.random(draws) < p.pest_chance, p.pest_from + np.floor(rng.random(draws) * p.pest_span), NEVER)
        cleared = NEVER if p.cleared is None else int(p.cleared)
        end = np.minimum.reduce([cold, bolt, pest, np.full(draws, cleared), np.full(draws, p.limit)]).astype(int)
        seen = (end < pest) & ((end == cold) | (end == bolt) | (end == cleared)) & (end > p.start)
        eve = np.maximum(end - 1, p.start)

        # Early use of what will not ripen.
        developed = lambda day: np.minimum((growth[run, day + 1] - growth[run, p.start]) / need, 1)
        stop = np.minimum(mature, end)
        early = np.full(draws, NEVER)
        if p.usable_early:
            usable = np.minimum(np.maximum(reach["growth"](run, p.start, USABLE * need, NEVER), p.start + 7), stop)
            early = table["still"][run, usable]
            early[early >= stop] = NEVER
        on_eve = seen & (p.usable_early == 1) & (mature >= end) & (developed(eve) >= USABLE)

        out = crops.setdefault(p.crop, np.zeros((draws, weeks)))
        if p.pattern == "stand":
            day = np.where(early < NEVER, early, np.where(mature < end, mature, np.where(on_eve, eve, NEVER)))
            got = day < NEVER
            day = np.minimum(day, numbers.days - 1)
            amount = kg * np.where(mature <= day, 1, developed(day)) * got
            out[every_draw, day // 7] += amount
        else:
            every = p.pick_every
            origin = growth[run, np.maximum(np.minimum(mature, numbers.days - 1) + 1 - every, p.start)]
            parts = np.linspace(0, 1, len(p.reached))
            share = lambda day: np.interp((growth[run, day + 1] - origin) / p.harvest_days, parts, p.reached)
            last = np.minimum(edges[None, :], end[:, None]) - 1
            count = (last - mature[:, None]) // every
            day = np.where(seen[:, None] & (edges[None, :] >= end[:, None]), eve[:, None], mature[:, None] + count * every)
            ripe = (last >= mature[:, None]) & (mature < end)[:, None]
            day = np.clip(day, 0, numbers.days - 1)
            gone = (growth[run[:, None], day + 1] - origin[:, None]) / p.harvest_days
            reached = np.where(ripe, np.interp(gone, parts, p.reached), 0)
            first_share = np.interp(every / p.harvest_days, parts, p.reached)
            for when in (early, np.where(on_eve, eve, NEVER)):
                taken = first_share * developed(np.minimum(when, numbers.days - 1)) * (when < NEVER)
                reached = np.maximum(reached, np.where(edges[None, :] > when[:, None], taken[:, None], 0))
            if p.strip_share > 0:
                killed = (end == cold) & seen & (mature < NEVER)
                later = share(np.minimum(eve + 14, numbers.days - 1))
                strip = killed * p.strip_share * np.maximum(later - reached[:, -1], 0)
                out[every_draw, eve // 7] += kg * strip
            out += kg[:, None] * np.diff(reached, axis=1, prepend=0)
        if p.second_share is not None:
            other = crops.setdefault(p.second_crop, np.zeros((draws, weeks)))
            total, taken = kg * p.second_share, np.zeros(draws)
            day = reach["growth"](run, p.start, p.second_from * need, NEVER)
            while (day < stop).any():
                now = np.minimum(day, numbers.days - 1)
                some = np.where(day < stop, 0.5 * np.maximum(total * developed(now) - taken, 0), 0)
                other[every_draw, now // 7] += some
                taken += some
                day = day + int(p.second_every)
            at_once = mature < end
            rest = np.where(at_once, total, np.where(seen & (developed(eve) >= p.second_from), total * developed(eve), 0))
            day = np.where(at_once, np.minimum(mature, numbers.days - 1), eve)
            other[every_draw, day // 7] += np.maximum(rest - taken, 0) * (rest > 0)
    return crops


def quantiles(crops):
    """p10, p50, p90 and mean of every crop and week, of the garden, and of the sums."""
    out = {}
    for crop, kg in list(crops.items()) + [("garden", sum(crops.values()))]:
        kg = np.column_stack([kg, kg.sum(axis=1)])
        out[crop] = np.vstack([np.quantile(kg, [0.1, 0.5, 0.9], axis=0), kg.mean(axis=0)])
    return out


def compare(folder, found):
    """Prints how far weekly means and totals agree with ours."""
    ours = {}
    with open(pathlib.Path(folder) / "ours.csv", newline="") as file:
        for row in csv.DictReader(file):
            ours.setdefault(int(row["crop"]), []).append([float(row[k]) for k in ("p10", "p50", "p90", "mean")])
    ours = {crop: np.array(rows).T for crop, rows in ours.items()}
    off = sum(np.abs(ours[c][3] - found[c][3, :-1]).sum() for c in ours)
    total = sum(ours[c][3].sum() for c in ours)
    print(f"whole year {found['garden'][3, -1] / total - 1:+.2%}; weekly means differ by {off / total:.2%} of all")
    for c in sorted(ours, key=lambda c: -ours[c][3].sum()):
        mean = ours[c][3].sum()
        apart = np.abs(ours[c][3] - found[c][3, :-1]).sum() / mean
        print(f"  crop {c:3}: {mean:9.1f} kg, {found[c][3, -1] / mean - 1:+.2%}, weeks {apart:.2%}")


if __name__ == "__main__":
    numbers = Numbers(sys.argv[1])
    result = quantiles(ensemble(numbers, np.random.default_rng(1)))
    if "--compare" in sys.argv:
        compare(sys.argv[1], result)
