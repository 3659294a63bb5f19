"""What a command costs in a new process, against an interpreter that only imports.

Counted is the processor time of the process, in it and in the kernel on its behalf: what else
the machine does while it waits is not the command's. Each ratio is of medians, measured in turns
so that what disturbs one disturbs the other. Both sides find their byte code ready, as they do
from the second run on, wherever these programs are started: it is kept in a folder of its own
until all is measured, and the first call of each, which fills it, is not counted.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from statistics import median

from tests.benchmarks.ratios import Finding, at_most
from tests.conftest import ROOT

DEMO = ROOT / "datasets" / "evening-class"

TELL_LIBRARIES = """
import sys
from yieldwright.cli import main
main(sys.argv[1:])
ours = {"yieldwright", "__main__", "__mp_main__", *sys.stdlib_module_names}
for name in list(sys.modules):
    if name.partition(".")[0] not in ours:
        print("library", name, file=sys.stderr)
"""


def run(*arguments: str, environment: Mapping[str, str]) -> str:
    """Return what an interpreter started with these arguments writes to stderr."""
    done = subprocess.run(
        [sys.executable, *arguments],
        check=True,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env=environment,
    )
    return done.stderr


def importing(*command: str, environment: Mapping[str, str]) -> str:
    """Return a program that imports the libraries a command uses and does nothing else."""
    told = run("-c", TELL_LIBRARIES, *command, environment=environment).splitlines()
    names = [line.removeprefix("library ") for line in told if line.startswith("library ")]
    return "\n".join(
        ["import importlib, contextlib"]
        + [f"with contextlib.suppress(ImportError): importlib.import_module({n!r})" for n in names]
    )


def cpu_seconds(*arguments: str, environment: Mapping[str, str]) -> float:
    """Return the processor time of an interpreter started with these arguments."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    run(*arguments, environment=environment)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


def in_turns(
    ours: tuple[str, ...], theirs: tuple[str, ...], *, rounds: int, environment: Mapping[str, str]
) -> tuple[float, float]:
    """Return the median processor time of each, taken in turns after one run that warms up."""
    programs = (ours, theirs)
    for program in programs:
        run(*program, environment=environment)
    times = [[cpu_seconds(*each, environment=environment) for each in programs]
             for _ in range(rounds)]  # fmt: skip
    first, second = zip(*times, strict=True)
    return median(first), median(second)


def findings() -> Iterator[Finding]:
    """Yield the cost of the help text and of the weekend page."""
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(Path(folder, "bytecode"))}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        bare, asked = ("-c", "pass"), ("-m", "yieldwright", "--help")
        times = in_turns(asked, bare, rounds=15, environment=environment)
        yield at_most("--help / a bare interpreter", times, 5)
        weekend = ("weekend", str(DEMO), "--out", str(Path(folder, "weekend.html")))
        libraries = Path(folder, "libraries.py")  # a program too long to stand on a command line
        libraries.write_text(importing(*weekend, environment=environment), encoding="utf-8")
        page = ("-m", "yieldwright", *weekend)
        times = in_turns(page, (str(libraries),), rounds=7, environment=environment)
        yield at_most("weekend page of the demo / importing its libraries", times, 1.5)
