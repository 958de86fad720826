"""Makes the workbooks of the tests with a real spreadsheet program, LibreOffice, and says with which.

    python3 tests/data/workbooks/make.py

Each workbook is first written as a flat Open Document, which is plain text, then opened, calculated and saved by LibreOffice
without a screen as .xlsx and .ods. Everything in them is invented. Two workbooks that no spreadsheet would save are put
together by hand below. The committed files were made with LibreOffice 7.4.7.2.
"""

import pathlib
import shutil
import subprocess
import tempfile
import zipfile
from xml.sax.saxutils import escape

ROOT = pathlib.Path(__file__).resolve().parents[2]

HEAD = """<?xml version="1.0" encoding="UTF-8"?>
<office:document xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0"
 xmlns:number="urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"
 xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2"
 office:version="1.2" office:mimetype="application/vnd.oasis.opendocument.spreadsheet">
<office:automatic-styles>
<number:date-style style:name="US"><number:month/><number:text>/</number:text><number:day/><number:text>/</number:text><number:year number:style="long"/></number:date-style>
<number:percentage-style style:name="P"><number:number number:decimal-places="0" number:min-integer-digits="1"/><number:text>%</number:text></number:percentage-style>
<style:style style:name="day" style:family="table-cell" style:data-style-name="US"/>
<style:style style:name="percent" style:family="table-cell" style:data-style-name="P"/>
</office:automatic-styles>
<office:body><office:spreadsheet>
"""
FOOT = "</office:spreadsheet></office:body></office:document>\n"


def cell(value):
    """A date is given as ("day", iso), a share as ("percent", number), a formula as "=...", a blank as None."""
    if value is None:
        return "<table:table-cell/>"
    if isinstance(value, bool):
        return f'<table:table-cell office:value-type="boolean" office:boolean-value="{str(value).lower()}"/>'
    if isinstance(value, tuple) and value[0] == "day":
        return f'<table:table-cell table:style-name="day" office:value-type="date" office:date-value="{value[1]}"/>'
    if isinstance(value, tuple):
        return f'<table:table-cell table:style-name="percent" office:value-type="percentage" office:value="{value[1]}"/>'
    if isinstance(value, (int, float)):
        return f'<table:table-cell office:value-type="float" office:value="{value}"/>'
    if value.startswith("="):
        return f'<table:table-cell table:formula="of:{escape(value, {chr(34): "&quot;"})}"/>'
    lines = "".join(f"<text:p>{escape(line)}</text:p>" for line in value.split("\n"))
    return f'<table:table-cell office:value-type="string">{lines}</table:table-cell>'


def book(sheets):
    out = HEAD
    for name, rows in sheets.items():
        out += f'<table:table table:name="{name}">'
        for row in rows:
            out += "<table:table-row>" + "".join(map(cell, row)) + "</table:table-row>"
        out += "</table:table>"
    return out + FOOT


def save(sheets, *targets):
    """Has LibreOffice save the sheets under each target, in the form of its ending."""
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        (scratch / "book.fods").write_text(book(sheets), encoding="utf-8")
        for target in targets:
            ending = pathlib.Path(target).suffix[1:]
            form = {"xlsx": "xlsx:Calc MS Excel 2007 XML", "ods": "ods"}[ending]
            subprocess.run(
                ["soffice", f"-env:UserInstallation=file://{scratch}/profile", "--headless", "--convert-to", form]
                + ["--outdir", str(scratch), str(scratch / "book.fods")],
                check=True,
                stdout=subprocess.DEVNULL,
            )
            path = ROOT / target
            path.parent.mkdir(parents=True, exist_ok=True)
            shutil.move(scratch / f"book.{ending}", path)


GARDEN = {
    "plantings": [
        [],
        ["planting", "bed", "crop", "sown", "row_ft", "yield_factor", "note"],
        ["beans", "North", "bush bean", ("day", "2026-05-20"), "=2.5*4", ("percent", 0.85), 'two\nlines, and a "quote"'],
        ["kale", "South", "kale", ("day", "2026-07-01"), "=3*0.8", None, '=IF(1=1;"";"never")'],
        [],
        ["# the row below was given up, so it is a remark"],
        ["# leeks", "South", "leek", ("day", "2026-04-01"), 10],
    ],
    "Beds": [["bed", "length_ft", "width_ft"], ["North", 12, 4], ["South", 12.5, 4]],
    "picked.csv": [
        ["date", "bed", "crop", "amount", "unit", "guess", "use"],
        [("day", "2026-07-20"), "North", "bush bean", "=0.1+0.2", "lb", True, "fresh"],
        [("day", "2026-07-24"), "North", "bush bean", 2, "lb", False, "put_by"],
    ],
    "Seed money": [["spent", 12.5]],
}
TOML = '[site]\nname = "Fallow End (invented)"\nlatitude_deg = 41.5\n\n[frost]\nfirst_fall = "10-11"\n'


def main():
    save(GARDEN, "problems/book-read-xlsx/garden.xlsx", "problems/book-read-ods/garden.ods")
    for case in ["book-read-xlsx", "book-read-ods"]:
        (ROOT / f"problems/{case}/garden.toml").write_text(TOML)
        (ROOT / f"problems/{case}/bare").write_text("")
    case = ROOT / "cases/garden-in-a-workbook"
    case.mkdir(parents=True, exist_ok=True)
    shutil.copy(ROOT / "problems/book-read-xlsx/garden.xlsx", case)
    (case / "garden.toml").write_text(TOML)

    header = ["bed", "crop", "sown", "row_ft", "note"]
    broken = [
        header,
        ["North", "kael", ("day", "2026-05-20"), 10],
        ["North", "kale", ("day", "2026-05-21"), "=1/0"],
        ["North", "kale", ("day", "2026-05-22"), 10, "=NA()"],
        ["North", '=VLOOKUP("x";[.A1:.B2];2;0)', ("day", "2026-05-23"), 10],
        ["North", "kale", ("day", "2026-05-24"), ("day", "2026-01-02")],
    ]
    save({"Sheet1": broken}, "problems/book-error-cells/plantings.xlsx", "problems/book-error-cells-ods/plantings.ods")

    sound = [header, ["North", "kale", ("day", "2026-05-20"), 10]]
    save({"Plantigs": sound, "beds": GARDEN["Beds"]}, "problems/book-sheet-misnamed/garden.ods")
    save({"Summer": sound, "Winter": sound}, "problems/book-which-sheet/plantings.xlsx")
    save({"Summer": sound, "Winter": sound}, "problems/book-no-table/garden.xlsx")
    more = [*sound, ["South", "kale", ("day", "2026-05-20"), 8]]
    save({"plantings": more}, "problems/book-kept-twice/plantings.xlsx")
    (ROOT / "problems/book-kept-twice/plantings.csv").write_text(
        "bed,crop,sown,row_ft,note\nNorth,kale,2026-05-20,10,\n"
    )
    save({"plantings": sound, "remarks": [["far", *[None] * 400, "away"], *[[]] * 30000, ["x"]]}, "problems/book-far-cell/garden.xlsx")
    cases = ["book-error-cells", "book-error-cells-ods", "book-which-sheet", "book-no-value", "book-without-end"]
    for case in [*cases, "book-sheet-misnamed", "book-no-table", "book-far-cell"]:
        (ROOT / f"problems/{case}").mkdir(parents=True, exist_ok=True)
        (ROOT / f"problems/{case}/garden.toml").write_text(TOML)
        (ROOT / f"problems/{case}/bare").write_text("")

    # What no spreadsheet saves: a formula without its value, as some programs write it, and a cell repeated without end.
    source = ROOT / "problems/book-error-cells/plantings.xlsx"
    target = ROOT / "problems/book-no-value/plantings.xlsx"
    target.parent.mkdir(exist_ok=True)
    rows = '<row r="1">' + "".join(
        f'<c r="{c}1" t="inlineStr"><is><t>{name}</t></is></c>' for c, name in zip("ABCDE", header)
    )
    rows += '</row><row r="2"><c r="A2" t="inlineStr"><is><t>North</t></is></c><c r="B2" t="inlineStr"><is><t>kale</t></is></c>'
    rows += '<c r="C2" t="inlineStr"><is><t>2026-05-20</t></is></c><c r="D2"><f>2*5</f></c><c r="E2"><f>A2&amp;B2</f><v></v></c></row>'
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            text = old.read(name)
            if name == "xl/worksheets/sheet1.xml":
                space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
                text = f'<?xml version="1.0"?><worksheet xmlns="{space}"><sheetData>{rows}</sheetData></worksheet>'
            new.writestr(zipfile.ZipInfo(name), text)
    source = ROOT / "problems/book-error-cells-ods/plantings.ods"
    target = ROOT / "problems/book-without-end/plantings.ods"
    target.parent.mkdir(exist_ok=True)
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            text = old.read(name)
            if name == "content.xml":
                text = text.replace(
                    b'<table:table-cell office:value-type="string"',
                    b'<table:table-cell table:number-columns-repeated="16000" office:value-type="string"',
                ).replace(b"<table:table-row ", b'<table:table-row table:number-rows-repeated="60000" ')
            new.writestr(zipfile.ZipInfo(name), text)


main()
