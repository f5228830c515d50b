"""The package as a user has it: run by a fresh Python that has nothing else.

front.py FIXTURES PROGRAM: demo sites and wrong files; the program `wetrun`, whose results are the same.
"""

import json
import pathlib
import pickle
import subprocess
import sys
import threading

import wetrun
from wetrun import result as types

FIXTURES, PROGRAM = pathlib.Path(sys.argv[1]), sys.argv[2]
SITES = sorted(FIXTURES.glob("ok/*/site.yaml"))
TEXTS = [path.read_text(encoding="utf-8") for path in SITES]
HALL = (FIXTURES / "ok/us-hall-six-downspouts/site.yaml").read_text(encoding="utf-8")


def raised(kind, call, *args, **named):
    try:
        call(*args, **named)
    except kind as error:
        assert type(error) is kind, type(error)
        return error
    raise AssertionError(f"{kind.__name__} was not raised by {args} {named}")


def the_program(*args):
    done = subprocess.run([PROGRAM, "check", *args, "--format", "json"], capture_output=True, check=False)
    return json.loads(done.stdout)


def results_are_those_of_the_program():
    many = wetrun.check_many(TEXTS)
    assert len(many) == len(SITES) > 10
    for path, text, found in zip(SITES, TEXTS, many):
        program = the_program(str(path))
        assert found == program == wetrun.check(text) == wetrun.check(text.encode()), path
    assert {found["verdict"] for found in many} == {"pass", "fail"}
    for named, args in [
        ({"storm": "90 mm/h"}, ["--storm", "90 mm/h"]),
        ({"tanks": "empty"}, ["--tanks", "empty"]),
        ({"spill_rains": False}, ["--no-spill-rains"]),
    ]:
        program = the_program(str(SITES[3]), *args)
        assert wetrun.check(TEXTS[3], **named) == program, named
        assert wetrun.check_many([TEXTS[3]], **named) == [program], named


def keys_are_those_of_the_types():
    def fits(value, kind):
        required, optional = kind.__required_keys__, kind.__optional_keys__
        assert required <= set(value) <= required | optional, (kind, set(value))

    for found in wetrun.check_many(TEXTS):
        fits(found, types.Result)
        fits(found["storm"], types.Storm)
        fits(found["totals"], types.Totals)
        fits(found["solve"], types.Solve)
        for key, kind in [
            ("downspouts", types.Downspout),
            ("lines", types.Line),
            ("points", types.Point),
            ("openings", types.Opening),
            ("tanks", types.Tank),
        ]:
            for part in found[key].values():
                fits(part, kind)
        for finding in found["findings"]:
            fits(finding, types.Finding)


def a_wrong_file_is_told_with_its_places():
    wrong = HALL.replace("length: 30 ft", "length: 30 gal").replace("units: us", "units: imperial")
    error = raised(wetrun.SiteError, wetrun.check, wrong, name="hall.yaml")
    assert isinstance(error, ValueError)
    lines = wrong.splitlines()
    wanted = {1 + next(i for i, line in enumerate(lines) if word in line) for word in ("30 gal", "imperial")}
    assert {place["line"] for place in error.places} == wanted, error.places
    for place in error.places:
        assert set(place) == types.Place.__required_keys__ and place["column"] >= 1, place
    assert "hall.yaml:" in str(error) and "30 gal" in str(error), error
    again = pickle.loads(pickle.dumps(error))
    assert (str(again), again.places, again.index) == (str(error), error.places, error.index)
    # Nothing that is fed to it ends the interpreter, or passes.
    for text in ["", "\0", "a: [", b"\xff\xfe", "\ud800", "x" * 100_000, "- " * 5_000, "{}"]:
        assert raised(wetrun.SiteError, wetrun.check, text).places, text
    for path in sorted(FIXTURES.glob("err/*/site.yaml")):
        raised(wetrun.SiteError, wetrun.check, path.read_bytes())


def a_wrong_site_stops_nothing_where_it_is_asked_for():
    texts = [HALL, "not: a site", TEXTS[0], ""] * 50
    found = wetrun.check_many(texts, return_errors=True, workers=3)
    assert [isinstance(one, wetrun.SiteError) for one in found] == [False, True, False, True] * 50
    assert [one.index for one in found if isinstance(one, wetrun.SiteError)] == list(range(1, 200, 2))
    assert all(one == found[0] for one in found[::4])
    error = raised(wetrun.SiteError, wetrun.check_many, texts)
    assert error.index == 1 and error.places and "<text 1>" in str(error), error
    assert wetrun.check_many([]) == [] and wetrun.check_many(iter([HALL])) == [found[0]]
    # The same on however many threads, and in more than one batch.
    many = TEXTS * 20
    assert wetrun.check_many(many, workers=1) == wetrun.check_many(many, workers=2)


def wrong_arguments_are_named():
    assert "storm" in str(raised(ValueError, wetrun.check, HALL, storm="6 gal"))
    assert "tanks" in str(raised(ValueError, wetrun.check, HALL, tanks="half"))
    assert "workers" in str(raised(ValueError, wetrun.check_many, [HALL], workers=0))
    for call, text in [(wetrun.check, None), (wetrun.check, 3), (wetrun.check_many, HALL), (wetrun.check_many, [None])]:
        raised(TypeError, call, text)


def the_interpreter_is_free_meanwhile():
    ticks, done = 0, threading.Event()

    def work():
        wetrun.check_many(TEXTS * 30, workers=1)
        done.set()

    thread = threading.Thread(target=work)
    thread.start()
    while not done.wait(0.001):
        ticks += 1
    thread.join()
    assert ticks >= 3, ticks


for test in [
    results_are_those_of_the_program,
    keys_are_those_of_the_types,
    a_wrong_file_is_told_with_its_places,
    a_wrong_site_stops_nothing_where_it_is_asked_for,
    wrong_arguments_are_named,
    the_interpreter_is_free_meanwhile,
]:
    test()
assert wetrun.__version__ and wetrun.__doc__
print("all well")
