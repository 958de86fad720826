"""Writes a garden folder of many plantings, made from the invented sample, to measure speed on.

python3 thousand.py FOLDER [PLANTINGS]

Every planting of the sample is repeated with a new name and its dates moved by up to ten days, until there are enough.
The garden is invented and no household has one like it.
"""

import csv
import datetime
import pathlib
import shutil
import sys

sample = pathlib.Path(__file__).parents[2] / "data" / "sample"
folder = pathlib.Path(sys.argv[1])
wanted = int(sys.argv[2]) if len(sys.argv) > 2 else 1000
folder.mkdir(parents=True, exist_ok=True)
for name in ("beds.csv", "crops.csv"):
    shutil.copy(sample / name, folder / name)
# Seen from before the season, with nobody away, so that every week is drawn and no picking is moved.
text = (sample / "garden.toml").read_text().split("[[away]]")[0]
(folder / "garden.toml").write_text(text.replace("2026-07-13", "2026-01-05"))

with open(sample / "plantings.csv", newline="") as file:
    reader = csv.DictReader(file)
    columns = reader.fieldnames
    kinds = [row for row in reader if (row["sown"] or row["set_out"]) >= "2026"]

with open(folder / "plantings.csv", "w", newline="") as file:
    writer = csv.DictWriter(file, columns)
    writer.writeheader()
    for k in range(wanted):
        row = dict(kinds[k % len(kinds)])
        shift = datetime.timedelta(days=(k // len(kinds)) * 7 % 21 - 10)
        for date in ("sown", "set_out", "cleared"):
            if row[date]:
                row[date] = str(datetime.date.fromisoformat(row[date]) + shift)
        row["planting"] = f"{row['crop']} no. {k + 1}"
        writer.writerow(row)
