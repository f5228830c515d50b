"""The result of a check, as types: SI units, the unit in each key."""

from __future__ import annotations

from typing import Literal, TypedDict

__all__ = [
    "Downspout",
    "Finding",
    "Line",
    "Opening",
    "Place",
    "Point",
    "Result",
    "Solve",
    "Storm",
    "Tank",
    "Totals",
]


class Storm(TypedDict):
    """The rain that the site was solved in."""

    intensity_m_per_s: float
    basis: str | None
    tanks: Literal["full", "empty"]


class Totals(TypedDict):
    """Sums over all downspouts."""

    demand_m3_per_s: float
    admitted_m3_per_s: float
    spilled_m3_per_s: float


class _Downspout(TypedDict):
    demand_m3_per_s: float
    admitted_m3_per_s: float
    spilled_m3_per_s: float
    outlet_level_m: float
    lip_level_m: float
    standing_level_m: float
    headroom_m: float
    foot_head_m: float
    route: list[str]


class Downspout(_Downspout, total=False):
    """What a downspout takes, how high water stands in it, and the lines of its route."""

    leaf_head_level_m: float
    """Only where there is a leaf head."""
    spills_at_m_per_s: float | None
    """None where no rain up to ten times the storm's spills; left out without spill rains."""


class Line(TypedDict):
    """Flow and losses, positive from the line's start to its end."""

    flow_m3_per_s: float
    velocity_m_per_s: float
    reynolds: float
    friction_loss_m: float
    fitting_loss_m: float
    from_head_m: float
    to_head_m: float


class Point(TypedDict):
    """The head at a point in the storm, and where water stands there afterwards."""

    head_m: float
    rest_level_m: float | None


class _Opening(TypedDict):
    kind: Literal["vent", "cap"]
    level_m: float
    headroom_m: float
    escapes_m3_per_s: float


class Opening(_Opening, total=False):
    """A vent or a cap that is open at a level."""

    escapes_at_m_per_s: float | None
    """As `spills_at_m_per_s` of a downspout."""


class Tank(TypedDict):
    """What a tank receives and passes on; its water level where it is full."""

    inflow_m3_per_s: float
    overflow_m3_per_s: float
    over_rim_m3_per_s: float
    water_level_m: float | None


class Finding(TypedDict):
    """What a rule says of a place, in the unit that it names."""

    rule: str
    outcome: Literal["pass", "fail", "caution", "not-shown", "needs-decision", "not-applicable"]
    where: str
    value: float | None
    limit: float | None
    unit: str | None
    message: str
    basis: str


class Solve(TypedDict):
    """How closely the state holds: continuity as a part of the whole demand."""

    iterations: int
    continuity_residual: float
    head_residual_m: float


class Result(TypedDict):
    """What `wetrun check --format json` prints; parts by their tags, in the order of the file."""

    wetrun: Literal[1]
    site: str
    verdict: Literal["pass", "fail"]
    storm: Storm
    totals: Totals
    downspouts: dict[str, Downspout]
    lines: dict[str, Line]
    points: dict[str, Point]
    openings: dict[str, Opening]
    tanks: dict[str, Tank]
    findings: list[Finding]
    solve: Solve


class Place(TypedDict):
    """A fault of a site file; lines and columns count from 1."""

    code: str
    line: int
    column: int
    key: str
    message: str
    expected: str
