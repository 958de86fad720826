"""Lays the bytes out with which the fuzzing begins: what the tests hold of each reader's food, in the reader's own dress.

    python3 tests/fuzz/seeds.py FOLDER

Makes FOLDER/READER/… . The corpus of `tests/fuzz/corpus` grew out of these; only they that reach something new were kept.
"""

import pathlib
import re
import sys
import zipfile

ROOT = pathlib.Path(__file__).parents[2]
OUT = pathlib.Path(sys.argv[1])
# In the order of the reader's first byte, from `a` on.
TABLES = ["plantings", "beds", "crops", "methods", "products", "needs", "goals", "picked", "stores", "events", "weather"]
LONGEST = 8192
XLSX = ["xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "xl/styles.xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels"]


def put(reader, content):
    folder = OUT / reader
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"seed_{len(list(folder.iterdir())):03}").write_bytes(content[:LONGEST])


def parts(path):
    """The parts of a workbook, as `tests/every_reader/books.rs` takes them."""
    with zipfile.ZipFile(path) as book:
        names = set(book.namelist())
        wanted = XLSX if path.suffix == ".xlsx" else ["content.xml"]
        letter = b"x" if path.suffix == ".xlsx" else b"o"
        return letter + b"\x1e".join(book.read(n) if n in names else b"" for n in wanted)


for path in sorted([*ROOT.glob("tests/problems/*/*"), *ROOT.glob("tests/cases/*/*"), *ROOT.glob("data/sample/*"), *ROOT.glob("data/start/*")]):
    content = path.read_bytes()
    name = path.name.lower()
    if path.suffix in (".xlsx", ".ods") and zipfile.is_zipfile(path):
        put("workbooks", parts(path))
        # And as one whose parts are made whole whatever becomes of them.
        put("workbooks", (b"w" if path.suffix == ".xlsx" else b"d") + parts(path)[1:])
        if len(content) <= LONGEST * 3:
            put("workbooks", (b"r" if path.suffix == ".xlsx" else b"R") + content)
    elif name == "garden.toml":
        put("settings", content)
    elif "normals" in name:
        put("normals", content)
    elif name in ("weather.csv", "export.csv"):
        for unit in b"FCT-":
            put("daily", bytes([unit]) + content)
    elif path.stem.lower() in TABLES and path.suffix == ".csv":
        put("tables", bytes([97 + TABLES.index(path.stem.lower())]) + content)

source = (ROOT / "tests/every_reader/garden.rs").read_text()
for name, text in re.findall(r'"(\w+)\.csv",\s*"((?:[^"\\]|\\.)*)"', source):
    put("tables", bytes([97 + TABLES.index(name)]) + text.encode().decode("unicode_escape").encode("latin-1"))
layouts = re.findall(r'^\s+"((?:XX|\\"STATION)(?:[^"\\]|\\.)*)",$', (ROOT / "tests/input_properties.rs").read_text(), re.M)
for text in layouts:
    put("daily", b"-" + text.encode().decode("unicode_escape").encode("latin-1"))
for line in (ROOT / "tests/spoken/cases.txt").read_text().splitlines():
    if line and not line.startswith("#"):
        put("spoken", line.split("|")[0].strip().encode())
for rows in [
    "date,product,crops,kg,note\n2026-08-18,frozen beans,bush bean,1.8,\n2026-08-22,+our mix,kale 0.5; okra 0.25,0.75,soon\n",
    "date,minutes,capacity_minutes,order,product,crops,kg,containers,best_by,last_day,chance_over\n"
    "2026-08-18,65,240,1,frozen beans,bush bean,1.8,2.5,2026-08-20,2026-08-22,0.1\n",
    "Date;Product;KG\n18/8/2026;pesto;0,5\n",
]:
    put("plan", rows.encode())
for folder in sorted(OUT.iterdir()):
    print(f"{folder.name}: {len(list(folder.iterdir()))}")
