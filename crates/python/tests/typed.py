"""Uses of the package, for a type checker alone."""

from typing import assert_type

import wetrun
from wetrun.result import Downspout

found = wetrun.check("", storm="6 in/h", tanks="full", spill_rains=False, name="a")
assert_type(found, wetrun.Result)
assert_type(found["downspouts"], dict[str, Downspout])
headroom: float = found["downspouts"]["D1"]["headroom_m"]
rain: float | None = found["downspouts"]["D1"].get("spills_at_m_per_s")
assert_type(wetrun.check_many(["", b""]), list[wetrun.Result])
assert_type(wetrun.check_many([""], return_errors=True), list[wetrun.Result | wetrun.SiteError])
# What is wrong is found: an ignore that is not needed is an error too.
found["headroom"]  # type: ignore[typeddict-item]
wetrun.check("", tanks="half")  # type: ignore[arg-type]
wetrun.check(3)  # type: ignore[arg-type]
try:
    wetrun.check(b"")
except wetrun.SiteError as error:
    for place in error.places:
        line: int = place["line"]
