"""Reads workbooks with a reader, and has an office suite work their formulas out anew.

The command line names a JSON list: each has `file`, and `changes`, cells of sheets with new numbers. The
changed copies are worked out by LibreOffice. Prints for each: `apart`, the largest difference between a
stored and a recalculated number (null where something was changed), `formulas`, how many there are,
`texts`, every text that is no formula, `left`, the largest number of a column that says what is left of a
law, and `answer`, the rows of the sheet Answer below its heads.
"""

import json
import os
import subprocess
import sys
import tempfile

import openpyxl


def cells(book):
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.value is not None:
                    yield sheet.title, cell


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        wanted = json.load(file)
    folder = tempfile.mkdtemp()
    copies = []
    for number, one in enumerate(wanted):
        book = openpyxl.load_workbook(one["file"])
        for sheet, cell, value in one["changes"]:
            was = book[sheet][cell]
            # A number, or a sum of losses written out as numbers; never what was worked out.
            assert was.fill.fgColor.rgb == "FFFFF6D5", (sheet, cell, "is no input")
            assert was.data_type == "n" or "!" not in was.value, (sheet, cell)
            book[sheet][cell].value = value
        copies.append(os.path.join(folder, f"{number}.xlsx"))
        book.save(copies[-1])
    out = os.path.join(folder, "out")
    profile = f"-env:UserInstallation=file://{folder}/profile"
    run = ["soffice", profile, "--headless", "--convert-to", "xlsx", "--outdir", out, *copies]
    subprocess.run(run, check=True, capture_output=True, timeout=300)
    told = []
    for number, one in enumerate(wanted):
        text = openpyxl.load_workbook(one["file"])
        stored = openpyxl.load_workbook(one["file"], data_only=True)
        anew = openpyxl.load_workbook(os.path.join(out, f"{number}.xlsx"), data_only=True)
        formulas, texts, apart, left = 0, [], 0.0, 0.0
        for sheet, cell in cells(text):
            if cell.data_type == "f":
                formulas += 1
            elif isinstance(cell.value, str):
                texts.append(cell.value)
            was, now = stored[sheet][cell.coordinate].value, anew[sheet][cell.coordinate].value
            if isinstance(was, (int, float)):
                assert isinstance(now, (int, float)), (one["file"], sheet, cell.coordinate, now)
                apart = max(apart, abs(was - now) / max(1.0, abs(was)))
        for sheet in anew:
            for column in sheet.iter_cols(values_only=True):
                if str(column[0]).startswith("left of"):
                    left = max([left, *(abs(value) for value in column[1:] if value is not None)])
        rows = list(anew["Answer"].iter_rows(values_only=True))
        rows = rows[[row[0] for row in rows].index("downspout") + 1 :]
        told.append({
            "apart": None if one["changes"] else apart,
            "formulas": formulas,
            "texts": texts,
            "left": left,
            "answer": {row[0]: row[1:6] for row in rows if row[0]},
        })
    json.dump(told, sys.stdout)


main()
