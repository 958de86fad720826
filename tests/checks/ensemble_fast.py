"""The weekly ensemble of `ensemble_plain.py`, as fast as we could make it in numpy: the same model and the same results.

python3 ensemble_fast.py NUMBERS [--compare]

Single precision, flat look-ups, only the weeks that a planting can have anything in, whatever does not apply left out,
the shape as a table of a thousand steps, quantiles by partition of the weeks that have anything.
"""

import sys

import numpy as np
from ensemble_plain import NEVER, USABLE, Numbers, compare, key, tables

F = np.float32
STEPS = 1000


class Reach:
    """A running sum laid flat for look-ups, and raised row by row for searches."""

    def __init__(self, table, run):
        self.width = table.shape[1]
        lift = float(table.max()) + 1000.0
        self.flat = np.ascontiguousarray(table, F).ravel()
        self.raised = (table.astype(np.float64) + lift * np.arange(len(table))[:, None]).ravel()
        self.row = (run * self.width).astype(np.int32)
        self.lift = lift * run

    def at(self, day, some=slice(None)):
        return self.flat[self.row[some] + day]

    def __call__(self, start, need, limit, some=slice(None)):
        row = self.row[some]
        target = self.raised[row + start] + need
        day = np.searchsorted(self.raised, target).astype(np.int32)
        day -= row + np.int32(1)
        np.maximum(day, start, out=day)
        day[day >= limit] = NEVER
        return day


def bolting(p, reach, need):
    """Day on which a planting bolts; only draws with enough heat and light are looked at."""
    either = reach["either"]
    out = np.full(len(need), NEVER, np.int32)
    some = np.flatnonzero(either.at(p.limit) - either.at(p.start) >= F(p.bolt_days))
    if len(some) == 0:
        return out
    need, cap = need[some], np.int32(p.limit)
    heat_from = np.minimum(reach["growth"](p.start, 0.6 * need, p.limit, some), cap)
    light_from = np.minimum(reach["growth"](p.start, 0.3 * need, p.limit, some), cap)
    if p.bolt_cold_days is not None:
        light_from = np.maximum(light_from, np.minimum(reach["chill"](p.start, p.bolt_cold_days, p.limit, some), cap))
    first, second = np.minimum(heat_from, light_from), np.maximum(heat_from, light_from)
    alone = np.full(len(some), NEVER, np.int32)
    had = np.zeros(len(some), F)
    for which, name in ((heat_from <= light_from, "heat"), (heat_from > light_from, "light")):
        k = np.flatnonzero(which)
        if len(k):
            alone[k] = reach[name](first[k], p.bolt_days, second[k], some[k])
            had[k] = reach[name].at(second[k], some[k]) - reach[name].at(first[k], some[k])
    both = either(second, np.maximum(F(p.bolt_days) - had, 0), p.limit, some)
    out[some] = np.where(first < p.limit, np.minimum(alone, both), NEVER)
    return out


def first_cold(cold, p, up):
    """First day of killing cold from the day it is up."""
    day = np.full(len(up), NEVER, np.int32)
    for start, until, threshold in p.covers:
        since = np.maximum(up, np.int32(start))
        until = np.int32(min(until, p.limit))
        for first, last in cold[threshold]:
            hit = np.where(first >= since, first, np.where(last >= since, last, NEVER))
            hit[(first > last) | (hit >= until)] = NEVER
            np.minimum(day, hit, out=day)
    return day


def ensemble(numbers, rng):
    """kg of each crop; shape weeks x draws."""
    weeks, draws, run = -(-numbers.days // 7), numbers.draws, numbers.run
    cold = np.ascontiguousarray(numbers.cold.transpose(1, 2, 3, 0))
    columns = np.arange(draws)
    last_day = np.int32(numbers.days - 1)
    known, crops, crop_z = {}, {}, {}
    garden_z = rng.standard_normal(draws, F)
    for p in numbers.plantings:
        if p.kg == 0:
            continue
        if key(p) not in known:
            found = tables(numbers, p, F)
            still = found.pop("still", None)
            known[key(p)] = {name: Reach(t, run) for name, t in found.items()}, None if still is None else still.astype(np.int32).ravel()
        reach, still = known[key(p)]
        growth = reach["growth"]
        if p.crop not in crop_z:
            crop_z[p.crop] = F(np.sqrt(0.3)) * garden_z + F(np.sqrt(0.7)) * rng.standard_normal(draws, F)
        kg = rng.standard_normal(draws, F)
        kg *= F(p.own_sd)
        kg += F(p.shared_sd) * crop_z[p.crop]
        kg -= F(p.half_variance)
        np.exp(kg, out=kg)
        kg *= F(p.kg)
        if p.fail_chance > 0:
            kg[rng.random(draws, F) < p.fail_chance] = 0
        need = rng.standard_normal(draws, F)
        need *= F(p.days_cv)
        need += 1
        np.maximum(need, F(0.5), out=need)
        need *= F(p.days)
        if p.second_delay:
            need += F(p.second_delay)
        mature = growth(p.start, need, p.limit)

        if p.up_base_c is None:
            up = np.full(draws, p.start, np.int32)
        else:
            up = reach["up"](p.start, p.up_degree_days, p.limit)
        frost = first_cold(cold, p, up)
        seen_end = frost
        if p.bolt_days is not None:
            seen_end = np.minimum(seen_end, bolting(p, reach, need))
        if p.cleared is not None:
            seen_end = np.minimum(seen_end, np.int32(p.cleared))
        end = np.minimum(seen_end, np.int32(p.limit))
        if p.pest_chance > 0:
            k = np.flatnonzero(rng.random(draws, F) < p.pest_chance)
            end[k] = np.minimum(end[k], (p.pest_from + rng.random(len(k)) * p.pest_span).astype(np.int32))
        seen = (seen_end == end) & (end > p.start)
        eve = np.maximum(end - np.int32(1), np.int32(p.start))

        begun = growth.at(p.start)

        def developed(day, k=slice(None)):
            return np.minimum((growth.at(day + 1, k) - begun[k]) / need[k], 1)

        stop = np.minimum(mature, end)
        early, on_eve = None, None
        if p.usable_early:
            usable = np.minimum(np.maximum(growth(p.start, F(USABLE) * need, NEVER), np.int32(p.start + 7)), stop)
            early = still[growth.row + usable]
            early[early >= stop] = NEVER
            on_eve = np.flatnonzero(seen & (mature >= end))
            on_eve = on_eve[developed(eve[on_eve], on_eve) >= USABLE]

        if p.crop not in crops:
            crops[p.crop] = np.zeros((weeks, draws), F)
        out = crops[p.crop]
        if p.pattern == "stand":
            day = np.where(mature < end, mature, NEVER)
            if on_eve is not None:
                day[on_eve] = eve[on_eve]
                np.copyto(day, early, where=early < NEVER)
            k = np.flatnonzero(day < NEVER)
            day = day[k]
            amount = kg[k]
            unripe = np.flatnonzero(day < mature[k])
            amount[unripe] *= developed(day[unripe], k[unripe])
            out.ravel()[day // 7 * draws + k] += amount
        else:
            every = np.int32(p.pick_every)
            curve = np.interp(np.linspace(0, 1, STEPS + 1), np.linspace(0, 1, len(p.reached)), p.reached).astype(F)
            scale = F(STEPS / p.harvest_days)
            origin = growth.at(np.maximum(np.minimum(mature, last_day) + 1 - every, p.start))

            def share(day, origin, row):
                gone = growth.flat[row + day + np.int32(1)]
                gone -= origin
                gone *= scale
                gone += F(0.5)
                return curve[np.clip(gone, 0, STEPS, out=gone).astype(np.int16)]

            ripe = np.flatnonzero(mature < end)
            if len(ripe):
                m, e, sn = mature[ripe], end[ripe], seen[ripe]
                w0, w1 = int(m.min()) // 7, int(e.max() - 1) // 7 + 1
                # After the longest possible harvest nothing more comes.
                edge = np.minimum(7 * np.arange(w0 + 1, w1 + 1, dtype=np.int32), numbers.days)[:, None].astype(np.int32)
                last = np.minimum(edge, e) - np.int32(1)
                day = last - (last - m) % every
                np.copyto(day, e - np.int32(1), where=sn & (edge >= e))
                before = last < m
                np.copyto(day, m, where=before)
                reached = share(day, origin[ripe], growth.row[ripe])
                reached[before] = 0
            first_share = F(np.interp(p.pick_every / p.harvest_days, np.linspace(0, 1, len(p.reached)), p.reached))
            taken_before = np.zeros(draws, F)
            for when in (early, on_eve):
                if when is None:
                    continue
                k, day = (on_eve, eve[on_eve]) if when is on_eve else (np.flatnonzero(early < NEVER), early[early < NEVER])
                if len(k):
                    more = np.maximum(first_share * developed(day, k) - taken_before[k], 0)
                    out.ravel()[day // 7 * draws + k] += kg[k] * more
                    taken_before[k] += more
            final = taken_before
            if len(ripe):
                taken = taken_before[ripe]
                if taken.any():
                    np.maximum(reached, taken, out=reached)
                final = taken_before.copy()
                final[ripe] = reached[-1]
                reached[1:] -= reached[:-1].copy()
                reached[0] -= taken
                reached *= kg[ripe]
                if len(ripe) == draws:
                    out[w0:w1] += reached
                else:
                    out[w0:w1, ripe] += reached
            if p.strip_share > 0:
                k = np.flatnonzero((frost == end) & seen & (mature < NEVER))
                later = share(np.minimum(eve[k] + np.int32(14), last_day), origin[k], growth.row[k])
                out.ravel()[eve[k] // 7 * draws + k] += kg[k] * F(p.strip_share) * np.maximum(later - final[k], 0)
        if p.second_share is not None:
            if p.second_crop not in crops:
                crops[p.second_crop] = np.zeros((weeks, draws), F)
            other = crops[p.second_crop].ravel()
            total, taken = kg * F(p.second_share), np.zeros(draws, F)
            day = growth(p.start, F(p.second_from) * need, NEVER)
            k = np.flatnonzero(day < stop)
            while len(k):
                some = F(0.5) * np.maximum(total[k] * developed(day[k], k) - taken[k], 0)
                other[day[k] // 7 * draws + k] += some
                taken[k] += some
                day[k] += np.int32(p.second_every)
                k = k[day[k] < stop[k]]
            at_once = mature < end
            rest = np.where(at_once, total, np.where(seen & (developed(eve) >= p.second_from), total * developed(eve), 0))
            day = np.where(at_once, np.minimum(mature, last_day), eve)
            other[day // 7 * draws + columns] += np.maximum(rest - taken, 0) * (rest > 0)
    return crops


def quantiles(crops):
    """p10, p50, p90 and mean of every crop and week, of the garden, and of the sums."""
    out = {}
    for crop, kg in list(crops.items()) + [("garden", sum(crops.values()))]:
        found = np.zeros((4, len(kg) + 1))
        for week, values in enumerate(list(kg) + [kg.sum(axis=0)]):
            mean = values.mean()
            if mean > 0:
                places = np.array([0.1, 0.5, 0.9]) * (len(values) - 1)
                low = places.astype(int)
                parted = np.partition(values, np.concatenate([low, low + 1]))
                found[:3, week] = parted[low] + (places - low) * (parted[low + 1] - parted[low])
                found[3, week] = mean
        out[crop] = found
    return out


if __name__ == "__main__":
    numbers = Numbers(sys.argv[1])
    result = quantiles(ensemble(numbers, np.random.Generator(np.random.SFC64(1))))
    if "--compare" in sys.argv:
        compare(sys.argv[1], result)
