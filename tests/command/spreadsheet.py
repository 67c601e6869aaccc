"""Workbooks as a spreadsheet program sees them: recalculated from scratch by LibreOffice, headless.

Before that the value kept beside every formula is spoilt, so that none of the figures read afterwards can be one that
the file brought along.
"""
import csv
import pathlib
import re
import shutil
import subprocess
import tempfile
import zipfile
from xml.etree import ElementTree

OFFICE = shutil.which("soffice") or shutil.which("libreoffice")
MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
SPOILT = "-987654.25"
# Recalculate on load: always (0), whatever program wrote the file.
SETTINGS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""
# One CSV a sheet, values unformatted.
CSV = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,-1"


def members(path):
    with zipfile.ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


def write(path, files):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        for name, content in files.items():
            book.writestr(name, content)


def sheets(files):
    """Name of each sheet and the member that holds it, in the order of the workbook."""
    names = [sheet.get("name") for sheet in ElementTree.fromstring(files["xl/workbook.xml"]).iter(f"{MAIN}sheet")]
    return {name: f"xl/worksheets/sheet{number}.xml" for number, name in enumerate(names, 1)}


def shared_texts(files):
    root = ElementTree.fromstring(files["xl/sharedStrings.xml"])
    return ["".join(part.text or "" for part in text.iter(f"{MAIN}t")) for text in root.iter(f"{MAIN}si")]


def formulas(files):
    """(sheet, cell, formula) of every formula."""
    for name, member in sheets(files).items():
        for cell in ElementTree.fromstring(files[member]).iter(f"{MAIN}c"):
            formula = cell.find(f"{MAIN}f")
            if formula is not None:
                yield name, cell.get("r"), formula.text or ""


def spoil(files):
    """The same workbook with a wrong value beside every formula; how many there were."""
    count = 0
    for member in sheets(files).values():
        text, found = re.subn(r"(<f[^>]*>[^<]*</f>)<v>[^<]*</v>", rf"\1<v>{SPOILT}</v>", files[member].decode("utf-8"))
        files[member] = text.encode("utf-8")
        count += found
    return count


def change_inputs(files, changes):
    """Types other numbers into the cells of inputs: {address: function of the number that stands there}."""
    member = sheets(files)["Inputs"]
    texts, text = shared_texts(files), files[member].decode("utf-8")
    rows = {texts[int(index)]: int(row) for row, index in re.findall(r'<c r="A(\d+)"[^>]* t="s"><v>(\d+)</v>', text)}
    for address, change in changes.items():
        cell = re.compile(rf'(<c r="B{rows[address]}"[^>]*><v>)([^<]*)(</v>)')
        text, found = cell.subn(lambda hit: f"{hit[1]}{change(float(hit[2]))!r}{hit[3]}", text)
        assert found == 1, address
    files[member] = text.encode("utf-8")


def recalculated(paths, seconds=600):
    """{path: {sheet: rows of texts}}, all formulas computed anew."""
    found = {}
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        (folder / "profile/user").mkdir(parents=True)
        (folder / "profile/user/registrymodifications.xcu").write_text(SETTINGS, "utf-8")
        copies = {}
        for number, path in enumerate(paths):
            files = members(path)
            assert spoil(files) > 0, path
            copies[path] = folder / f"book{number}.xlsx"
            write(copies[path], files)
        subprocess.run([OFFICE, f"-env:UserInstallation=file://{folder}/profile", "--headless", "--convert-to", CSV,
                        "--outdir", str(folder / "out"), *map(str, copies.values())],
                       check=True, capture_output=True, timeout=seconds)
        for path, copy in copies.items():
            found[path] = {}
            for sheet in sheets(members(path)):
                with open(folder / "out" / f"{copy.stem}-{sheet}.csv", encoding="utf-8", newline="") as file:
                    found[path][sheet] = list(csv.reader(file))
    return found
