"""Reads drawings for CAD with ezdxf, as strictly as it reads, audits them, and holds what is on them
against what they should show.

The list of drawings is JSON in the file on the command line: for each its path, its unit in metres, and
what is expected of it in metres: lengths of pipes by line, heads at their ends, levels by name, places in
plan by name, texts.
"""

import json
import math
import sys

import ezdxf
from ezdxf.lldxf.encoding import decode_dxf_unicode

NEAR_M = 2e-6
LAYERS = {"PIPE", "CROWN", "GROUND", "STORM-GRADE", "REST", "LEVELS", "TEXT", "TANK", "PLAN-PIPE", "PLAN-LEVELS"}


def own_name(entity):
    return shown(entity.get_xdata("WETRUN")[0].value) if entity.has_xdata("WETRUN") else None


def shown(text):
    """As a CAD program shows it: characters by their numbers, and a caret by its escape."""
    return decode_dxf_unicode(text).replace("^ ", "^")


def corners(polyline):
    return [tuple(vertex.dxf.location) for vertex in polyline.vertices]


def length(points):
    return sum(math.dist(a, b) for a, b in zip(points, points[1:]))


def near(found, wanted_m, unit_m):
    return abs(found * unit_m - wanted_m) <= NEAR_M


def read(wanted):
    drawing = ezdxf.readfile(wanted["path"])
    audit = drawing.audit()
    assert not audit.errors and not audit.fixes, [str(e.message) for e in audit.errors + audit.fixes]
    unit_m = wanted["unit_m"]
    # Feet or millimetres, in the header and in words.
    assert drawing.header["$INSUNITS"] == (2 if unit_m == 0.3048 else 4)
    names = {layer.dxf.name for layer in drawing.layers}
    assert {f"WETRUN-{layer}" for layer in LAYERS} <= names, names
    space = drawing.modelspace()
    on = lambda kind, layer: [e for e in space.query(kind) if e.dxf.layer == f"WETRUN-{layer}"]
    used = {e.dxf.layer for e in space}
    assert used <= names and all(name.startswith("WETRUN-") for name in used), used
    for entity in space:
        assert entity.dxftype() in {"POLYLINE", "POINT", "CIRCLE", "TEXT"}, entity.dxftype()
    texts = [shown(text.plain_text()) for text in space.query("TEXT")]
    assert any(("in feet" if unit_m == 0.3048 else "in millimetres") in text for text in texts), texts
    for text in wanted.get("texts", []):
        assert text in texts, (text, texts)

    low, high = drawing.header["$EXTMIN"], drawing.header["$EXTMAX"]
    for entity in space.query("POLYLINE POINT"):
        for x, y, z in corners(entity) if entity.dxftype() == "POLYLINE" else [tuple(entity.dxf.location)]:
            assert low[0] <= x <= high[0] and low[1] <= y <= high[1] and low[2] <= z <= high[2]

    pipes = {}
    for pipe in on("POLYLINE", "PIPE"):
        pipes.setdefault(own_name(pipe), []).append(corners(pipe))
    assert set(pipes) == set(wanted["lengths"]), (set(pipes), set(wanted["lengths"]))
    for name, drawn in pipes.items():
        for points in drawn:
            assert near(length(points), wanted["lengths"][name], unit_m), (name, length(points))
    heads = {}
    for grade in on("POLYLINE", "STORM-GRADE"):
        heads.setdefault(own_name(grade), []).append(corners(grade))
    for name, ends in wanted["heads"].items():
        for points in heads[name]:
            drawn = [points[0][1], points[-1][1]]
            turned = drawn[::-1]
            fits = lambda pair: all(near(y, end, unit_m) for y, end in zip(pair, ends))
            assert fits(drawn) or fits(turned), (name, drawn, ends)
    levels = {}
    for mark in on("POINT", "LEVELS"):
        levels.setdefault(own_name(mark), set()).add(mark.dxf.location.y)
    for name, level_m in wanted["levels"].items():
        assert name in levels, (name, sorted(levels))
        assert any(near(y, level_m, unit_m) for y in levels[name]), (name, levels[name], level_m)
    places = {own_name(mark): tuple(mark.dxf.location) for mark in on("POINT", "PLAN-LEVELS")}
    assert set(places) == set(wanted["places"]), (set(places), set(wanted["places"]))
    for name, place in wanted["places"].items():
        assert all(near(a, b, unit_m) for a, b in zip(places[name], place)), (name, places[name], place)
    if places:
        ways = {own_name(pipe): corners(pipe) for pipe in on("POLYLINE", "PLAN-PIPE")}
        assert set(ways) == set(wanted["lengths"])
    return len(pipes)


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        print(sum(read(wanted) for wanted in json.load(file)))


main()
