"""Computes the workbook face of every operation with LibreOffice and compares with the engine.

Usage: workbook_face.py PRINT_WORKBOOK
"""
import csv
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import zipfile
from xml.sax.saxutils import escape, quoteattr

office = shutil.which("soffice") or shutil.which("libreoffice")
if office is None:
    print("SKIPPED: LibreOffice is not installed (Debian package libreoffice-calc-nogui)")
    sys.exit(77)

TOLERANCE = 1e-9  # relative: exp, ln and powers of the spreadsheet, through long chains
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"


def letters(index):
    text = ""
    while index >= 0:
        text = chr(ord("A") + index % 26) + text
        index = index // 26 - 1
    return text


def place(cell):
    column, row = re.fullmatch(r"([A-Z]+)(\d+)", cell).groups()
    number = 0
    for letter in column:
        number = number * 26 + ord(letter) - ord("A") + 1
    return int(row), number


def read(lines):
    columns, sheets, values = [], {}, []
    for line in lines:
        kind, *rest = line.split("\t")
        if kind == "column":
            columns.append(rest)
        elif kind == "cell":
            sheets.setdefault(rest[0], {})[place(rest[1])] = (rest[1], None, rest[2])
        elif kind == "array":
            first = rest[1].split(":")[0]
            sheets[rest[0]][place(first)] = (first, rest[1], rest[2])
        else:
            values.append((rest[0], place(rest[1]), float(rest[2])))
    return columns, sheets, values


def sheet_xml(cells):
    rows = {}
    for (row, _), cell in sorted(cells.items()):
        rows.setdefault(row, []).append(cell)
    text = [f'<worksheet xmlns="{MAIN}"><sheetData>']
    for row, entries in rows.items():
        text.append(f'<row r="{row}">')
        for name, area, formula in entries:
            head = f'<f t="array" ref="{area}">' if area else "<f>"
            text.append(f'<c r="{name}">{head}{escape(formula[1:])}</f></c>')
        text.append("</row>")
    text.append("</sheetData></worksheet>")
    return "".join(text)


def write(path, columns, sheets):
    hidden, names = {}, []
    for index, (name, *values) in enumerate(columns):
        letter = letters(index)
        for row, value in enumerate(values, 1):
            hidden[(row, index + 1)] = (f"{letter}{row}", None, "=" + value)
        names.append(f"<definedName name={quoteattr(name)}>coefficients!${letter}$1:${letter}${len(values)}</definedName>")
    everything = {**sheets, "coefficients": hidden}
    with zipfile.ZipFile(path, "w") as book:
        sheet_list, relations, types = [], [], []
        for number, (name, cells) in enumerate(everything.items(), 1):
            book.writestr(f"xl/worksheets/sheet{number}.xml", sheet_xml(cells))
            state = ' state="hidden"' if name == "coefficients" else ""
            sheet_list.append(f'<sheet name="{name}" sheetId="{number}"{state} r:id="rId{number}"/>')
            relations.append(f'<Relationship Id="rId{number}" Type="{RELATIONS}/worksheet" Target="worksheets/sheet{number}.xml"/>')
            types.append(f'<Override PartName="/xl/worksheets/sheet{number}.xml" '
                         'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>')
        book.writestr("xl/workbook.xml", f'<workbook xmlns="{MAIN}" xmlns:r="{RELATIONS}"><sheets>'
                      + "".join(sheet_list) + "</sheets><definedNames>" + "".join(names) + "</definedNames></workbook>")
        book.writestr("xl/_rels/workbook.xml.rels", f'<Relationships xmlns="{PACKAGE}/relationships">' + "".join(relations) + "</Relationships>")
        book.writestr("_rels/.rels", f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="rId1" '
                      f'Type="{RELATIONS}/officeDocument" Target="xl/workbook.xml"/></Relationships>')
        book.writestr("[Content_Types].xml", f'<Types xmlns="{PACKAGE}/content-types"><Default Extension="rels" '
                      'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
                      '<Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>'
                      + "".join(types) + "</Types>")


def compute(folder, columns, sheets):
    book = folder / "faces.xlsx"
    write(book, columns, sheets)
    # one CSV for each sheet, values unformatted
    options = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,-1"
    subprocess.run([office, f"-env:UserInstallation=file://{folder}/profile", "--headless", "--convert-to", options,
                    "--outdir", str(folder), str(book)], check=True, capture_output=True, timeout=300)
    return {name: list(csv.reader(open(folder / f"faces-{name}.csv", encoding="utf-8"))) for name in sheets}


def main():
    lines = subprocess.run([sys.argv[1]], check=True, capture_output=True, text=True).stdout.splitlines()
    columns, sheets, values = read(lines)
    worst, wrong = 0.0, 0
    with tempfile.TemporaryDirectory() as folder:
        tables = compute(pathlib.Path(folder), columns, sheets)
        for sheet, (row, column), expected in values:
            text = tables[sheet][row - 1][column - 1]
            try:
                off = abs(float(text) - expected) / max(abs(expected), 1e-12)
            except ValueError:
                off = float("inf")
            worst = max(worst, off)
            if off > TOLERANCE:
                wrong += 1
                if wrong < 20:
                    print("differs:", sheet, row, column, text, expected, sheets[sheet][(row, column)][2][:200])
    print(f"{len(values)} cells, largest relative difference {worst:.1e}, {wrong} wrong")
    return 0 if wrong == 0 and len(values) > 1000 else 1


sys.exit(main())
