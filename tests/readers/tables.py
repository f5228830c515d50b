"""Reads tables as comma-separated values with the csv module of Python, and holds them against the
JSON results of the same runs: every number the same, every text a text, every unit in the header.

The list of what to read is JSON on the command line's file: for each table its file, the result's
file, and the way to its rows in that result (null where the rows are the result itself).
"""

import csv
import io
import json
import re
import sys

SIGNS = ("=", "+", "-", "@", "\t", "\r", "\uff1d", "\uff0b", "\uff0d", "\uff20")
UNIT = re.compile(r"_(m|m3|s|m_per_s|m3_per_s|days)$|^days_|_1_mm_(low|high)_m$")
# Counts, ratios and sums of money; a finding's value and limit have their unit in a column.
BARE = {"value", "limit", "reynolds", "iterations", "continuity_residual", "cost", "lower_bound"}


def number(text):
    return re.fullmatch(r"-?[0-9]+(\.[0-9]+)?(e-?[0-9]+)?", text) is not None


def flat(row, before=""):
    """A row's values by column; what lies inside is `outer_inner`."""
    values = {}
    for key, value in row.items():
        if isinstance(value, dict):
            values.update(flat(value, f"{before}{key}_"))
        else:
            values[before + key] = value
    return values


def bare(column):
    return re.sub("^(before|after|solve)_", "", column) in BARE


def same(cell, value, near):
    if value is None:
        return cell == ""
    if isinstance(value, bool):
        return cell == ("true" if value else "false")
    if isinstance(value, (int, float)):
        return number(cell) and abs(float(cell) - value) <= near
    text = ", ".join(value) if isinstance(value, list) else value
    return cell == text or cell.replace("'", "") == text.replace("'", "")


def formulas(text):
    """No cell may begin with a sign, however the program that opens it cuts the lines."""
    for delimiter in (",", ";", "\t"):
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter):
            for cell in row:
                begun = cell.lstrip(' "') if delimiter != "," else cell
                assert not begun.startswith(SIGNS) or number(begun.split(",")[0]), (delimiter, cell)


def table(path, result, way, near):
    with open(path, newline="", encoding="utf-8") as file:
        text = file.read()
    formulas(text)
    rows = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))
    header = next(csv.reader(io.StringIO(text, newline="")))
    assert len(set(header)) == len(header), header
    if result is None:
        return rows, header
    with open(result, encoding="utf-8") as file:
        found = json.load(file)
    for key in way or []:
        found = found[key]
    if isinstance(found, dict) and way:
        tag = header[0]
        wanted = [{tag: key, **(value if isinstance(value, dict) else {header[1]: value})} for key, value in found.items()]
    else:
        wanted = found if isinstance(found, list) else [found]
    assert len(rows) == len(wanted), (path, len(rows), len(wanted))
    for row, value in zip(rows, wanted):
        if way:
            value = flat(value)
            lacking = [k for k in value if k not in header and not (value[k] is None and k in ("before", "after"))]
            assert not lacking, (path, lacking)
        else:
            inner = flat({k: v for k, v in value.items() if not isinstance(v, list)})
            value = {k: v for full, v in inner.items() for k in (full,) if full in header}
        for column in header:
            assert same(row[column], value.get(column), near), (path, column, row[column], value.get(column))
            if isinstance(value.get(column), float) and not isinstance(value.get(column), bool):
                assert UNIT.search(column) or bare(column), column
    return rows, header


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        tables = json.load(file)
    cells = 0
    for one in tables:
        rows, header = table(one["csv"], one.get("json"), one.get("way"), one.get("near", 0))
        cells += len(rows) * len(header)
    print(cells)


main()
