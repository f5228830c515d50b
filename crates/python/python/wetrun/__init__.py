"""Checks gravity-fed rainwater pipes that always stand full.

>>> import wetrun
>>> result = wetrun.check(open("site.yaml").read())
>>> result["verdict"]
'pass'

`check` and `check_many` give what `wetrun check --format json` prints, as dictionaries: SI units, the unit
in the key. A site file that is wrong raises `SiteError`, with a place for every fault. The result is a
calculation and no permit: local code and licensed people decide.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Literal, overload

from wetrun import _native
from wetrun.result import Place, Result

__all__ = ["Place", "Result", "SiteError", "check", "check_many"]
__version__: str = _native.VERSION

# So many sites a worker are in hand at once: between such batches an interrupt is heard.
_IN_HAND = 64


class SiteError(ValueError):
    """A site file is wrong, or no state of its network was found.

    `str()` of it is what people are told, with excerpts of the file. `places` has every fault, each with
    `code`, `line`, `column` (from 1), `key`, `message` and `expected`; it is empty where it is not the
    file that is wrong. `index` is the number of the text, from 0, where there were many.
    """

    places: list[Place]
    index: int

    def __init__(self, message: str, places: list[Place] | None = None, index: int = 0) -> None:
        super().__init__(message)
        self.places = places or []
        self.index = index

    def __reduce__(self) -> tuple[type[SiteError], tuple[str, list[Place], int]]:
        return type(self), (str(self), self.places, self.index)


def check(
    text: str | bytes,
    *,
    storm: str | None = None,
    tanks: Literal["full", "empty"] | None = None,
    spill_rains: bool = True,
    name: str = "<text>",
) -> Result:
    """The result of one site.

    `text` is a site file's text; `name` is what messages call it. `storm` is rain in place of the file's,
    such as `"6 in/h"` or `"150 mm/h"`; `tanks` says how they stand. Without `spill_rains` the rains at
    which water first leaves are left out: they take most of the time.

    Raises `SiteError` where the file is wrong or no state is found, `ValueError` where an argument is.
    """
    for found in _checked([text], storm, tanks, spill_rains, 1, name):
        if isinstance(found, SiteError):
            raise found
        return found
    raise AssertionError("one text, one answer")


@overload
def check_many(
    texts: Iterable[str | bytes],
    *,
    storm: str | None = ...,
    tanks: Literal["full", "empty"] | None = ...,
    spill_rains: bool = ...,
    workers: int | None = ...,
    return_errors: Literal[False] = ...,
) -> list[Result]: ...


@overload
def check_many(
    texts: Iterable[str | bytes],
    *,
    storm: str | None = ...,
    tanks: Literal["full", "empty"] | None = ...,
    spill_rains: bool = ...,
    workers: int | None = ...,
    return_errors: bool,
) -> list[Result | SiteError]: ...


def check_many(
    texts: Iterable[str | bytes],
    *,
    storm: str | None = None,
    tanks: Literal["full", "empty"] | None = None,
    spill_rains: bool = True,
    workers: int | None = None,
    return_errors: bool = False,
) -> list[Result] | list[Result | SiteError]:
    """The results of many sites, in their order, on all cores or on so many `workers`.

    The interpreter is free meanwhile. A wrong site raises its `SiteError`, the first one's, as soon as it
    is met; with `return_errors` it stands in the list in its place and stops nothing. The rest is as
    for `check`.
    """
    if isinstance(texts, (str, bytes)):
        raise TypeError("texts: a list of texts, not one text")
    if workers is not None and workers < 1:
        raise ValueError(f"workers: {workers} is less than 1")
    workers = workers or os.cpu_count() or 1
    answers: list[Result | SiteError] = []
    for found in _checked(texts, storm, tanks, spill_rains, workers, None):
        if isinstance(found, SiteError):
            found.index = len(answers)
            if not return_errors:
                raise found
        answers.append(found)
    return answers


def _checked(
    texts: Iterable[str | bytes],
    storm: str | None,
    tanks: str | None,
    spill_rains: bool,
    workers: int,
    name: str | None,
) -> Iterator[Result | SiteError]:
    """The results of sites, by batches."""
    left = enumerate(texts)
    while batch := list(islice(left, _IN_HAND * workers)):
        bytes_ = [_bytes(text) for _, text in batch]
        names = [f"<text {index}>" if name is None else name for index, _ in batch]
        for done, answer in _native.check(bytes_, names, storm, tanks, spill_rains, workers):
            read = json.loads(answer)
            yield read if done else SiteError(read["error"], read["places"])


def _bytes(text: str | bytes) -> bytes:
    if isinstance(text, str):
        # Half a character is a fault of the text, with its place.
        return text.encode("utf-8", "surrogatepass")
    if isinstance(text, bytes):
        return text
    raise TypeError(f"a site is a text, not {type(text).__name__}")
