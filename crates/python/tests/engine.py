"""The example over a table of sites, on the engine in its local mode: engine.py EXAMPLE FIXTURES FOLDER."""

import csv
import pathlib
import subprocess
import sys

import wetrun

example, fixtures, folder = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
storms = ["", "60 mm/h", "9 in/h", "6 gal"]
rows = []
for path in sorted(fixtures.glob("ok/*/site.yaml")):
    rows += [(f"{path.parent.name} {storm}", str(path), storm) for storm in storms]
rows.insert(7, ("no such", "no/such.yaml", ""))
broken = folder / "broken.yaml"
broken.write_text("wetrun: 1\n")
rows.insert(11, ("broken", "broken.yaml", ""))
table, out = folder / "sites.csv", folder / "results.csv"
with open(table, "w", newline="", encoding="utf-8") as file:
    csv.writer(file).writerows([("id", "file", "storm"), *rows])
subprocess.run([sys.executable, example, table, out, "5"], check=True)
with open(out, newline="", encoding="utf-8") as file:
    found = list(csv.DictReader(file))
assert [row["id"] for row in found] == [row[0] for row in rows]
answered = 0
for (name, path, storm), row in zip(rows, found):
    if name in ("no such", "broken") or storm == "6 gal":
        assert row["error"] and not row["verdict"], row
        continue
    expected = wetrun.check(pathlib.Path(path).read_text(encoding="utf-8"), storm=storm or None)
    least = min(one["headroom_m"] for one in expected["downspouts"].values())
    assert row["verdict"] == expected["verdict"] and not row["error"], row
    assert float(row["headroom_m"]) == least, row
    assert float(row["spilled_m3_per_s"]) == expected["totals"]["spilled_m3_per_s"], row
    answered += 1
assert answered == 3 * (len(rows) - 2) // 4 > 30
