"""Compares a table as `--format csv` says it with the same table after a spreadsheet. Usage: workbooks.py WANTED GOT

Numbers agree to fourteen digits, since a spreadsheet writes fifteen; dates, words and blanks agree letter for letter, but for the
apostrophe that CSV needs before what looks like a formula, the capitals of true and false, and the line ends in a cell.
"""

import csv
import math
import sys


def plain(text):
    if len(text) > 1 and text[0] == "'" and text.lstrip("'")[:1] in tuple("=+-@\t\r\n＝＋－＠"):
        text = text[1:]
    return {"TRUE": "true", "FALSE": "false"}.get(text, text.replace("\r", ""))


def same(a, b):
    if a == b:
        return True
    try:
        return math.isclose(float(a), float(b), rel_tol=1e-14, abs_tol=1e-300)
    except ValueError:
        return False


wanted, got = ([*csv.reader(open(path, encoding="utf-8", newline=""))] for path in sys.argv[1:3])
assert len(wanted) == len(got), f"{len(wanted)} rows became {len(got)}"
for line, (a, b) in enumerate(zip(wanted, got), 1):
    # A spreadsheet leaves blank cells at the end of every row away.
    b += [""] * (len(a) - len(b))
    assert len(a) == len(b), f"row {line}: {len(a)} cells became {len(b)}"
    for key, x, y in zip(wanted[0], a, b):
        assert same(plain(x), plain(y)), f"row {line}, {key}: {x!r} became {y!r}"
