"""The package as a whole: import cost, stub, doctests, completeness, Ctrl-C."""

from __future__ import annotations

import ast
import doctest
import math
import os
import re
import runpy
import signal
import statistics
import subprocess
import sys
import textwrap
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

import mamelon as mm
from mamelon import _core

ROOT = Path(__file__).resolve().parents[2]
# The machinery of descriptions has no face of its own in Python.
HEADERS = sorted(
    set((ROOT / "include/mamelon").glob("*.h")) - {ROOT / "include/mamelon/description.h"}
)


def run_python(code: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}
    return subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code)],
        capture_output=True, text=True, check=False, env=environment, timeout=120,
    )  # fmt: skip


def test_import_is_quick_and_brings_nothing_optional() -> None:
    code = """
        import sys, time
        begin = time.perf_counter()
        import mamelon
        spent = time.perf_counter() - begin
        names = "numpy pandas matplotlib scipy dask distributed pyarrow tqdm"
        print(spent, sorted(set(names.split()) & set(sys.modules)))
    """
    runs = [run_python(code).stdout.split(" ", 1) for _ in range(7)]
    assert {rest.strip() for _, rest in runs} == {"[]"}
    # The least is the cost of the work itself; the rest is the machine's other load.
    assert min(float(seconds) for seconds, _ in runs) < 0.150


def test_stub_is_the_one_made_from_the_extension() -> None:
    maker = runpy.run_path(str(ROOT / "python/bindings/make_stub.py"))
    stub = Path(_core.__file__).with_name("_core.pyi")
    if not stub.exists():
        pytest.skip("a sanitized build makes no stub")
    text = stub.read_text(encoding="utf-8")
    assert maker["make"]() == text
    names = {node.name for node in ast.parse(text).body if hasattr(node, "name")}
    assert names >= {n for n in mm.__all__ if callable(getattr(mm, n))} - {"__version__"}


def documented() -> list[tuple[str, object]]:
    found: list[tuple[str, object]] = []
    for name in mm.__all__:
        value = getattr(mm, name)
        if name.startswith("__") or not (callable(value) or isinstance(value, type)):
            continue
        found.append((name, value))
        if isinstance(value, type):
            found += [
                (f"{name}.{key}", member)
                for key, member in vars(value).items()
                if not key.startswith("_") and (callable(member) or isinstance(member, property))
            ]
    return found


@pytest.mark.parametrize(
    ("name", "value"), documented(), ids=lambda v: v if isinstance(v, str) else ""
)
def test_every_public_name_is_documented_and_its_examples_hold(name: str, value: object) -> None:
    doc = value.__doc__ or ""
    lines = doc.splitlines()
    assert lines, f"{name} has no docstring"
    if callable(value) and not isinstance(value, type):
        assert re.match(rf"{name.rsplit('.', maxsplit=1)[-1]}\(.*\) -> ", lines[0]), (
            f"{name} states no signature"
        )
        assert doc.strip().count("\n") > 0, f"{name} says nothing beside its signature"
    scope = {**vars(mm), "np": np, "mm": mm}
    example = doctest.DocTestParser().get_doctest(doc, scope, name, None, 0)
    flags = doctest.ELLIPSIS | doctest.IGNORE_EXCEPTION_DETAIL | doctest.NORMALIZE_WHITESPACE
    failures = doctest.DocTestRunner(optionflags=flags, verbose=False).run(example).failed
    assert failures == 0


# What stands in the headers but is plain Python on this side.
NOT_BOUND = {
    # Options become keyword arguments of the function they belong to.
    "PhotoOptions", "CardFitOptions", "ZoneOptions", "ToothHint", "MatchOptions", "AuditOptions",
    "DriftOptions", "CalibrationOptions", "BatchOptions", "LayoutRequest", "SurfaceFitOptions",
    "LaterFitOptions",
    "PasteFitOptions", "TableOptions",
    # What the page keeps between two looks at one photo, and shows of it.
    "PhotoWithFit", "Preview", "SolveMemory",
    # Rows of numbers.
    "DisplayColour", "SignedDifference", "LayerOptics", "TwoSidedOptics", "Weights", "Din99o",
    "Cam16Ucs", "LabRows", "LinearToLab", "LabMap",
    # A tuple of fit, thickness and its sd.
    "FittedLayer",
    # Bytes in Python.
    "InputProfile", "GivenFile",
    # Columns of numbers, and texts of the command.
    "ColourTable", "DrawdownTemplate", "ColourRow", "ColourRows", "ColourPair", "CardReport",
    # Boxes in photos, as the command reads them; and numbers that Python gives one by one.
    "PhotographedDisc", "PlanFigures",
    # Reached through a method of the fit.
    "Correction",
}  # fmt: skip


def test_every_type_of_the_headers_is_in_python() -> None:
    text = "\n".join(header.read_text(encoding="utf-8") for header in HEADERS)
    plain = re.sub(r"namespace unit \{.*?\}  // namespace unit", "", text, flags=re.S)
    plain = re.sub(r"/// .*", "", plain)
    types = set(re.findall(r"^(?:struct|class) (\w+) (?:: [\w: ]+)?\{", plain, flags=re.M))
    assert len(types) > 40
    assert types - NOT_BOUND - set(dir(mm)) == {"Spectrum"}


def test_every_field_of_the_headers_is_in_python() -> None:
    missing = []
    for header in HEADERS:
        text = re.sub(r"//.*", "", header.read_text(encoding="utf-8"))
        for name, body in re.findall(r"^struct (\w+) \{\n(.*?)^\};", text, flags=re.M | re.S):
            if name in NOT_BOUND or not hasattr(mm, name):
                continue
            plain = re.sub(r"\[\[nodiscard\]\].*?(;|\{.*?\n  \})", "", body, flags=re.S)
            fields = re.findall(r"\b(\w+)(?:\[\d\])?(?:\{[^;{}]*\}| = [^;]+)?;", plain)
            known = dir(getattr(mm, name))
            missing += [
                f"{name}.{field}"
                for field in fields
                if field not in (*known, "default", "correction", "made_from")
                and field + "_" not in known
            ]
    # `Photo.rgb` gives the light of either kind of photo; a report gives what was found of them.
    assert missing == ["Photo.codes", "Photo.light_of_code", "Report.photo", "Report.fit"]


def test_functions_of_the_headers_are_in_python() -> None:
    # Those with another face in Python.
    elsewhere = {
        "to_string", "source_of", "measured_fields", "diagonal", "add", "scale", "multiply",
        "propagate", "is_covariance", "standard_deviations", "read_file", "interface_of",
        "to_linear_srgb",
        "from_linear_srgb", "observer_from_string", "printable",
        "expanded", "keep",
        # What values are described by.
        "blank", "canonical_text", "complaint", "count_complaint", "digest_of", "from_string",
        "in_words", "index_of_word", "listed", "meaning_of", "same", "text_complaint",
        # Of the page, and bytes in place of files.
        "decode", "fit_photo", "is_invented", "outline_of", "parse_repeats", "preview_of",
        # Given readings with operator and day, `to_cgats` and `to_cxf` write these.
        "repeats_to_cgats", "repeats_to_cxf",
        # Steps of a case and of its report.
        "all_notes", "is_answered", "is_inside_interval", "is_tooth_number",
        "is_uncertainty_known", "lab_disagreement", "name_of", "photo_digest", "provenance_of",
        "read_region", "request_of", "solve_crosswalk", "teeth_of", "tooth_kind",
        "uncertainty_in", "zone_name",
        # Texts and files of the command.
        "drawdown_template", "parse_case", "to_spreadsheet", "to_zip",
        "card_advice", "is_photo_file", "outcomes_kept", "read_photographed_discs",
        "to_json_line", "with_design",
        # What a case's document holds beside its fields.
        "own_lights",
        # Of pastes.
        "best_engine", "moved", "transport_reflectance_sd", "two_fluxes_like",
    }  # fmt: skip
    text = "\n".join(h.read_text(encoding="utf-8") for h in HEADERS if h.name != "batch.h")
    found = set(re.findall(r"^\[\[nodiscard\]\] [\w:<>, ]+?[ &](\w+)\(", text, flags=re.M))
    assert len(found) > 40
    assert found - elsewhere - set(dir(mm)) == set()


def test_no_name_stands_twice() -> None:
    assert len(mm.__all__) == len(set(mm.__all__))
    assert set(_core.__all__) < set(mm.__all__)
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        mm.nothing  # noqa: B018


@pytest.mark.parametrize(
    ("name", "arguments", "sentence"),
    [
        ("read_card", (mm.Lab(70, 1, 15),), "file must be the path of a file, not Lab"),
        ("read_tab_set", (5,), "file must be the path of a file, not int"),
        ("parse_card", (b"{}", "card.json"), "text must be a string, not bytes"),
        ("sha256_hex", ("abc",), "data must be bytes, not str"),
        ("audit", (5, mm.generated_population("D65/2")), "tabs must be a TabSet, not int"),
        ("solve", ("case.zip",), "case must be a Case, not str"),
        ("sheet_html", ("report",), "report must be a Report, an AuditReport, a FitReport"),
        ("write_file_atomically", ("a", 1), "content must be a string or bytes, not int"),
    ],
)
def test_an_argument_of_a_wrong_type_is_named_in_one_sentence(
    name: str, arguments: tuple[object, ...], sentence: str
) -> None:
    with pytest.raises(mm.ArgumentError) as error:
        getattr(mm, name)(*arguments)
    assert str(error.value).startswith(sentence)
    assert "\n" not in str(error.value)


def functions() -> list[str]:
    return [
        name
        for name in _core.__all__
        if callable(v := getattr(mm, name)) and not isinstance(v, type)
    ]


@pytest.mark.parametrize("name", functions())
def test_every_function_says_which_argument_is_of_a_wrong_type(name: str) -> None:
    lines = getattr(mm, name).__doc__.split("\n\n")[0].splitlines()
    stub = ast.parse(f"def {lines[-1]}: ...").body[0]  # the last of overloads takes most
    assert isinstance(stub, ast.FunctionDef)
    places = stub.args.args[: len(stub.args.args) - len(stub.args.defaults)]
    keywords = [
        keyword.arg
        for keyword, default in zip(stub.args.kwonlyargs, stub.args.kw_defaults, strict=True)
        if default is None
    ]
    wanted = [place.arg for place in places] + keywords
    if not wanted:
        return
    with pytest.raises(mm.Error) as error:
        getattr(mm, name)(*[object() for _ in places], **{word: object() for word in keywords})
    assert "\n" not in str(error.value)
    assert any(word in str(error.value) for word in wanted)


def least_of_three(seconds: Callable[[], float], enough: float) -> float:
    """The least of up to three measurements: what is longer is the machine's other work."""
    least = math.inf
    for _ in range(3):
        least = min(least, seconds())
        if least < enough:
            break
    return least


def interrupted_after(work: str, wait: float) -> float:
    """Seconds between a SIGINT and the end of `work` in a child process."""
    code = f"""
        import signal, sys, threading, time, os
        import numpy as np
        import mamelon as mm
        sent = []
        def send():
            time.sleep({wait})
            sent.append(time.monotonic())
            os.kill(os.getpid(), signal.SIGINT)
        threading.Thread(target=send, daemon=True).start()
        begin = time.monotonic()
        try:
            while time.monotonic() < begin + 30:
                {work}
        except KeyboardInterrupt:
            print(time.monotonic() - sent[0], flush=True)
            os._exit(0)
        print("never interrupted")
    """
    done = run_python(code)
    assert done.returncode == 0, done.stderr
    return float(done.stdout)


@pytest.mark.parametrize(
    "work",
    [
        "mm.de00(np.zeros((3000, 1, 3)), np.ones((3000, 3)))",
        "mm.coverage_error(np.random.rand(200_000, 3), np.random.rand(400, 3))",
        "mm.to_lab(np.full((400_000, 31), 0.4), 'D65/2', grid=mm.Grid(400, 10, 31))",
    ],
)
def test_ctrl_c_returns_within_half_a_second(work: str) -> None:
    assert least_of_three(lambda: interrupted_after(work, 1.0), 0.5) < 0.5


MANY_PASTES = """
request = mm.PlanRequest(
    mm.Reading("t", mm.Measured([74, 2, 18], [[0.4, 0, 0], [0, 0.1, 0], [0, 0, 0.3]]), "D65/2"),
    pastes, mm.Reflectance(pastes.pastes[0].absorption.grid, [0.3] * 31), 3.0, max_layers=3)
"""


@pytest.mark.parametrize(
    ("before", "work"),
    [
        ("readings = [mm.Reading(str(i), mm.Measured([70, 1, 15 + i / 1e4]), 'D65/2')\n"
         "            for i in range(60_000)]", "mm.match_all(readings, tabs)"),
        (MANY_PASTES, "mm.plan(request)"),
        (MANY_PASTES, "mm.crosswalk(tabs, request)"),
    ],
)  # fmt: skip
def test_ctrl_c_stops_the_work_and_leaves_the_machine_idle(before: str, work: str) -> None:
    code = f"""
import os, resource, signal, threading, time
import mamelon as mm
tabs = mm.read_tab_set({str(ROOT / "data/tabs/orchard16.json")!r})
some = mm.read_paste_set({str(ROOT / "data/pastes/orchard10.json")!r})
pastes = mm.PasteSet("many", [
    mm.Paste(f"{{p.name}} {{i}}", p.role,
             mm.PerMm(p.absorption.grid, [k * (1 + i / 9) for k in p.absorption.values]),
             p.scattering)
    for i in range(8) for p in some.pastes])
{before}
def used():
    now = resource.getrusage(resource.RUSAGE_SELF)
    return now.ru_utime + now.ru_stime
sent = []
def send():
    sent.append(time.monotonic())
    os.kill(os.getpid(), signal.SIGINT)
threading.Timer(0.6, send).start()
try:
    for _ in range(1000):
        {work}
except KeyboardInterrupt:
    back = time.monotonic() - sent[0]
time.sleep(0.2)
before = used()
time.sleep(0.5)
print(back, used() - before)
"""

    def seconds_until_back() -> float:
        done = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False
        )
        assert done.returncode == 0, done.stderr
        back, busy = map(float, done.stdout.split())
        assert busy < 0.05
        return back

    assert least_of_three(seconds_until_back, 0.2) < 0.2


def test_work_left_behind_by_ctrl_c_does_not_harm_the_exit() -> None:
    done = run_python("""
        import os, signal, threading
        import numpy as np, mamelon as mm
        threading.Timer(0.3, lambda: os.kill(os.getpid(), signal.SIGINT)).start()
        try:
            mm.coverage_error(np.random.rand(60_000, 3), np.random.rand(400, 3))
        except KeyboardInterrupt:
            print("interrupted")
    """)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "interrupted"


def test_the_lock_is_released_while_working() -> None:
    rows = np.random.default_rng(1).uniform(0, 60, (300_000, 3))
    ticks = 0
    stop = threading.Event()

    def tick() -> None:
        nonlocal ticks
        while not stop.is_set():
            ticks += 1
            time.sleep(0.001)

    beside = threading.Thread(target=tick)
    beside.start()
    begin = time.monotonic()
    while time.monotonic() - begin < 0.5:
        mm.de00(rows, rows[::-1])
    stop.set()
    beside.join()
    assert ticks > 20


def test_results_do_not_depend_on_the_thread_that_asks() -> None:
    rows = np.random.default_rng(2).uniform(0, 60, (5000, 3))
    expected = mm.de00(rows, rows[::-1])
    results = []
    threads = [
        threading.Thread(target=lambda: results.append(mm.de00(rows, rows[::-1]))) for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(results) == 4
    for result in results:
        np.testing.assert_array_equal(result, expected)


def test_signal_handlers_of_the_user_run_during_long_work() -> None:
    seen: list[float] = []
    old = signal.signal(signal.SIGALRM, lambda *_: seen.append(time.monotonic()))
    try:
        begin = time.monotonic()
        signal.setitimer(signal.ITIMER_REAL, 0.05)
        teeth = np.random.default_rng(3).uniform(0, 60, (20_000, 3))
        while not seen and time.monotonic() < begin + 10:
            mm.coverage_error(teeth, teeth[:200])
        assert seen
        assert statistics.median(seen) - begin < 1.0
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, old)
