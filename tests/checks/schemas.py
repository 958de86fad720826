"""Validates what every verb writes with --format json against data/schemas, with the jsonschema library.

    python tests/checks/schemas.py target/release/putby

Needs `jsonschema` (JSON Schema draft 2020-12). The sample garden and two small gardens of tests/cases are asked.
"""

import json
import pathlib
import subprocess
import sys
import tempfile

from jsonschema import Draft202012Validator, FormatChecker

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = pathlib.Path(sys.argv[1]).resolve()
GARDENS = [["--sample"], ["-g", str(ROOT / "tests/cases/one-file-garden")], ["-g", str(ROOT / "tests/cases/no-kitchen-hours")]]
ASKED = {
    "kitchen": [["kitchen"], ["kitchen", "--relief"]],
    "when": [["when"]],
    "forecast": [["forecast"], ["forecast", "--by", "planting"]],
    "week": [["week"]],
    "stores": [["stores"]],
    "sessions": [["sessions", "--weeks", "4"], ["sessions", "--weeks", "4", "--card"]],
    "sow_by": [["sow", "by"]],
    "sow_after": [["sow", "after"]],
    "sow_plan": [["sow", "plan", "--most", "2"]],
    "compare": [["compare"]],
    "learn": [["learn"]],
    "check": [["check"]],
    "calendar": [["calendar", "--weeks", "2"]],
    "tables": [["tables", "crops"], ["tables", "methods"], ["tables", "products"], ["tables", "crops", "okra"]],
}


def validator(name):
    schema = json.loads((ROOT / f"data/schemas/{name}.json").read_text())
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema, format_checker=FormatChecker())


def ask(words):
    run = subprocess.run([PROGRAM, *words, "--draws", "60", "--format", "json"], capture_output=True, text=True)
    if run.returncode not in (0, 1):
        sys.exit(f"{' '.join(words)}: exit {run.returncode}\n{run.stderr}")
    return json.loads(run.stdout)


def faults(name, words):
    return [f"{' '.join(words)}: {list(e.absolute_path)}: {e.message[:300]}" for e in validator(name).iter_errors(ask(words))]


found, asked = [], 0
for garden in GARDENS:
    for name, lines in ASKED.items():
        for words in lines:
            found += faults(name, [*words, *garden])
            asked += 1
    plantings = ask(["when", *garden])
    ahead = [row["planting"] for row in plantings["rows"] if (row["sown"] or "") >= plantings["as_of"]] or [plantings["rows"][-1]["planting"]]
    found += faults("why", ["why", ahead[0], *garden])
    found += faults("why", ["why", plantings["as_of"], *garden])
    asked += 2
with tempfile.TemporaryDirectory() as folder:
    garden = pathlib.Path(folder)
    for file in (ROOT / "tests/cases/one-file-garden").iterdir():
        (garden / file.name).write_bytes(file.read_bytes())
    found += faults("log", ["-g", folder, "log", "picked 2026-04-30 beans 2 lb, xyzzy 1 lb, frost last night 30 F, put 2 frozen beans"])
    asked += 1
print(f"{asked} answers, {len(found)} faults")
sys.exit("\n".join(found) if found else 0)
