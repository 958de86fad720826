"""Solves the planner's made-up problems with a general solver and stores the values.

The problems come as JSON from `PUTBY_PLANNER_DIR=target/planner cargo test --release --test planner export` (folder `target/planner`, or
PUTBY_PLANNER_DIR). The model below is written from the problem's description alone, in the form with every load a whole
number; it shares nothing with the planner. Two simplifications keep it linear and can only lower its value: the first
filling of an appliance counts its set-ups only. Needs SciPy with its HiGHS; the versions are stored with the values.

    python3 tests/checks/planner.py DIR [seconds]
"""

import json
import math
import pathlib
import sys
import time

import numpy as np
import scipy
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array


def solve(problem, seconds):
    """Returns the best value, the proven bound and the seconds taken."""
    cost, lower, upper, whole = [], [], [], []
    rows, low, high = [], [], []

    def var(c, up, integer=False):
        cost.append(c), lower.append(0.0), upper.append(up), whole.append(int(integer))
        return len(cost) - 1

    def row(terms, lo, hi):
        rows.append(terms), low.append(lo), high.append(hi)

    sessions, buckets, products = problem["sessions"], problem["buckets"], problem["products"]
    prices, kitchen = problem["prices"], problem["kitchen_min"]
    constant = 0.0
    taken = [[] for _ in buckets]
    use, amount = {}, {}
    for k, s in enumerate(sessions):
        room = s["minutes"] + s["overtime"]
        if room <= 0:
            continue
        opened = var(prices["session"] + prices["setup_min"] * kitchen, 1, True)
        late = var(prices["overtime_min"], s["overtime"])
        hand = [(opened, kitchen - s["hands"] * s["minutes"]), (late, -s["hands"])]
        row([(late, 1), (opened, -s["overtime"])], -np.inf, 0)
        clock = [[] for _ in range(problem["appliances"])]
        least = [math.inf] * problem["appliances"]
        on = [[] for _ in range(problem["appliances"])]
        groups = {}
        for p, product in enumerate(products):
            puts = []
            for b, bucket in enumerate(buckets):
                part = next((x for x in product["parts"] if x["food"] == bucket["food"]), None)
                if part is None or not bucket["day"] <= s["day"] <= bucket["last_day"]:
                    continue
                within = product["within_days"]
                if within is not None and s["day"] > bucket["day"] + within:
                    continue
                age = max(0, s["day"] - bucket["best_day"])
                q = var(prices["stale_kg_day"] * age + product["dislike_per_kg"], bucket["kg"])
                puts.append((q, b, part["minutes_per_kg"], part["loads_per_kg"]))
            if not puts:
                continue
            y = var(prices["setup_min"] * product["setup_min"], 1, True)
            g = product["group"]
            if g not in groups:
                setup = problem["groups"][g]
                groups[g] = var(prices["setup_min"] * setup, 1, True)
                row([(groups[g], 1), (opened, -1)], -np.inf, 0)
                hand.append((groups[g], setup))
            row([(y, 1), (groups[g], -1)], -np.inf, 0)
            hand.append((y, product["setup_min"]))
            for q, b, minutes, _ in puts:
                row([(q, 1), (y, -buckets[b]["kg"])], -np.inf, 0)
                hand.append((q, minutes))
                taken[b].append((q, 1))
            if product["least_kg"] > 0:
                row([(q, 1) for q, _, _, _ in puts] + [(y, -product["least_kg"])], 0, np.inf)
            if len(product["parts"]) > 1:
                for part in product["parts"]:
                    is_part = lambda b: float(buckets[b]["food"] == part["food"])
                    row([(q, is_part(b) - part["least"]) for q, b, _, _ in puts], 0, np.inf)
                    row([(q, is_part(b) - part["greatest"]) for q, b, _, _ in puts], -np.inf, 0)
            a = product["appliance"]
            if a is not None:
                n = var(0, 1000, True)
                row([(q, loads) for q, _, _, loads in puts] + [(n, -1)], -np.inf, 0)
                row([(n, 1), (y, -1)], 0, np.inf)
                row([(n, 1), (y, -1000)], -np.inf, 0)
                hand.append((n, a["hand_min"]))
                clock[a["which"]].append((n, a["load_min"]))
                first = kitchen + problem["groups"][g] + product["setup_min"] + a["hand_min"]
                least[a["which"]] = min(least[a["which"]], first / s["hands"])
                on[a["which"]].append(y)
            use[p, k], amount[p, k] = y, [q for q, _, _, _ in puts]
        row(hand, -np.inf, 0)
        for a, terms in enumerate(clock):
            for y in on[a]:
                row(terms + [(y, least[a]), (opened, -s["minutes"]), (late, -1)], -np.inf, 0)
    for b, bucket in enumerate(buckets):
        constant += bucket["loss_per_kg"] * bucket["kg"]
        for q, _ in taken[b]:
            cost[q] -= bucket["loss_per_kg"]
        if taken[b]:
            row(taken[b], -np.inf, bucket["kg"])
    for limit in problem["limits"]:
        for end in range(len(sessions)):
            terms = []
            for term in limit["terms"]:
                for k in range(end + 1):
                    since = sessions[end]["day"] - sessions[k]["day"]
                    back = term["days"] is not None and since >= term["days"]
                    if back or (term["product"], k) not in use:
                        continue
                    terms += [(q, term["per_kg"]) for q in amount[term["product"], k]]
                    terms.append((use[term["product"], k], term["per_use"]))
            if terms:
                row(terms, -np.inf, limit["amount"])
    i = [r for r, terms in enumerate(rows) for _ in terms]
    j = [t[0] for terms in rows for t in terms]
    v = [t[1] for terms in rows for t in terms]
    matrix = coo_array((v, (i, j)), shape=(len(rows), len(cost))).tocsr()
    begin = time.time()
    found = milp(
        cost,
        integrality=whole,
        bounds=Bounds(lower, upper),
        constraints=LinearConstraint(matrix, low, high),
        options={"time_limit": seconds, "mip_rel_gap": 1e-6},
    )
    value = None if found.x is None else constant + found.fun
    return value, constant + found.mip_dual_bound, time.time() - begin


def main():
    folder = pathlib.Path(sys.argv[1])
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 60.0
    store = pathlib.Path(__file__).with_suffix(".json")
    values = json.loads(store.read_text()) if store.exists() else {"problems": {}}
    values["scipy"] = scipy.__version__
    values["numpy"] = np.__version__
    for path in sorted(folder.glob("*.json"), key=lambda p: (p.stat().st_size, p.name)):
        if path.stem in values["problems"]:
            continue
        value, bound, took = solve(json.loads(path.read_text()), seconds)
        values["problems"][path.stem] = {
            "value": None if value is None else round(value, 4),
            "bound": round(bound, 4),
            "seconds": round(took, 1),
            "limit_seconds": seconds,
        }
        print(path.stem, values["problems"][path.stem], flush=True)
        store.write_text(json.dumps(values, indent=1, sort_keys=True) + "\n")


main()
