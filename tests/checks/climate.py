"""Frost days and degree-days at Clemson by a general climate library, for the comparison in tests/season.rs.

    python3 -m venv VENV && VENV/bin/pip install xclim
    VENV/bin/python tests/checks/climate.py            # compares with tests/checks/climate.csv
    VENV/bin/python tests/checks/climate.py --write    # writes it anew

A year is left out of the spring with fewer than 145 minima from February to June, of the fall with fewer than 118 from
September to December, as the program does; a day without both values adds nothing to a sum.
"""

import sys
import warnings
from pathlib import Path

warnings.filterwarnings("ignore")

import numpy as np
import pandas as pd
import xarray as xr
import xclim
from xclim import indices

HERE = Path(__file__).resolve().parent
KEPT = HERE / "climate.csv"
TARGETS = [(4, 25, 700), (6, 15, 700), (8, 10, 500)]


def series(table, column, units="degC"):
    days = pd.date_range(table.index[0], table.index[-1])
    values = table[column].reindex(days).to_numpy()
    return xr.DataArray(values, dims="time", coords={"time": days}, attrs={"units": units})


def day(number, year):
    if np.isnan(number):
        return "none"
    return str((pd.Timestamp(year, 1, 1) + pd.Timedelta(days=int(number) - 1)).date())


def rows():
    table = pd.read_csv(HERE.parent / "data" / "clemson_1991_2020.csv", index_col=0, parse_dates=True)
    table.columns = ["TMIN", "TMAX"]
    table = table / 10.0
    low, high = series(table, "TMIN"), series(table, "TMAX")
    mean = (low + high) / 2.0
    mean.attrs["units"] = "degC"
    known = low.notnull()
    for f in (36, 32, 28, 24, 20):
        # 28 °F is -2.22 °C and stands in the record as -2.2: half a step of tenths is added.
        edge = f"{(f - 32) / 1.8 + 0.05:.6f} degC"
        last = indices.last_spring_frost(low.fillna(50.0).assign_attrs(units="degC"), thresh=edge, op="<=", before_date="08-01", window=1, freq="YS")
        first = indices.first_day_temperature_below(low.fillna(50.0).assign_attrs(units="degC"), thresh=edge, op="<=", after_date="08-01", window=1, freq="YS")
        for year in range(1991, 2021):
            of_year = known.sel(time=str(year))
            months = of_year.time.dt.month
            if int(of_year.where((months >= 2) & (months <= 6)).sum()) >= 145:
                yield f"last,{f},{year},{day(float(last.sel(time=str(year)).item()), year)},"
            if int(of_year.where(months >= 9).sum()) >= 118:
                yield f"first,{f},{year},{day(float(first.sel(time=str(year)).item()), year)},"
    sums = indices.growing_degree_days(mean, thresh="10 degC", freq="YS")
    for year in range(1991, 2021):
        yield f"year,10,{year},,{float(sums.sel(time=str(year)).item()):.3f}"
    for month, date, target in TARGETS:
        for year in range(1991, 2021):
            start = pd.Timestamp(year, month, date)
            # The library's sum up to each day; the first day that reaches the target.
            for length in range(20, 140):
                end = start + pd.Timedelta(days=length)
                part = mean.sel(time=slice(start, end))
                total = float(indices.growing_degree_days(part, thresh="10 degC", freq="YS").item())
                if total >= target:
                    yield f"reach {target},10,{start.date()},{end.date()},{total:.3f}"
                    break


def main():
    head = f"# xclim {xclim.__version__}, xarray {xr.__version__}, numpy {np.__version__}, pandas {pd.__version__}"
    body = ["what,threshold,from,day,sum", *rows()]
    if "--write" in sys.argv:
        KEPT.write_text("\n".join([head, *body]) + "\n")
        return
    kept = KEPT.read_text().splitlines()
    wrong = [(a, b) for a, b in zip(kept[1:], body) if a != b]
    print(head[2:], "against", kept[0][2:])
    print(f"{len(body) - 1} values, {len(wrong)} different", *wrong[:10])
    sys.exit(bool(wrong) or len(kept) - 1 != len(body))


main()
