"""A table of sites, checked on an engine that shares it out: table.py SITES.csv RESULTS.csv [PARTS].

SITES.csv has the columns `id`, `file` (a site file, as seen from the table) and `storm` (rain in place of
the file's, such as `6 in/h`; may be empty). RESULTS.csv has one row for each, in the same order: the
verdict, the least headroom and where, what spills, or why there is no answer. Here the engine is a data
frame of dask with a process for each core; on a cluster only the last line of `main` changes.
"""

from __future__ import annotations

import pathlib
import sys

import dask.dataframe as dd
import pandas as pd
import wetrun

COLUMNS = {
    "id": "object",
    "verdict": "object",
    "worst": "object",
    "headroom_m": "float64",
    "spilled_m3_per_s": "float64",
    "error": "object",
}


def one(folder: pathlib.Path, row: pd.Series) -> dict[str, object]:
    """The row of a site."""
    try:
        text = (folder / row["file"]).read_bytes()
        found = wetrun.check(text, storm=row["storm"] or None, spill_rains=False, name=row["file"])
    except (OSError, ValueError) as error:
        return {"id": row["id"], "error": str(error).splitlines()[0]}
    worst = min(found["downspouts"], key=lambda tag: found["downspouts"][tag]["headroom_m"])
    return {
        "id": row["id"],
        "verdict": found["verdict"],
        "worst": worst,
        "headroom_m": found["downspouts"][worst]["headroom_m"],
        "spilled_m3_per_s": found["totals"]["spilled_m3_per_s"],
    }


def part(sites: pd.DataFrame, folder: pathlib.Path) -> pd.DataFrame:
    """The rows of one part of the table, by whichever process has it."""
    rows = [one(folder, row) for _, row in sites.iterrows()]
    return pd.DataFrame(rows, columns=list(COLUMNS), index=sites.index).astype(COLUMNS)


def main() -> None:
    table, out = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
    parts = int(sys.argv[3]) if len(sys.argv) > 3 else 8
    sites = pd.read_csv(table, dtype=str, keep_default_na=False)
    shared = dd.from_pandas(sites, npartitions=parts)
    meta = pd.DataFrame({name: pd.Series(dtype=kind) for name, kind in COLUMNS.items()})
    results = shared.map_partitions(part, table.resolve().parent, meta=meta)
    results.compute(scheduler="processes").to_csv(out, index=False)


# Each process of the engine loads this file anew.
if __name__ == "__main__":
    main()
