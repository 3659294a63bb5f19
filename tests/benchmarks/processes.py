"""What a command costs in a new process, against an interpreter that only imports."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.ratios import Finding, at_most, in_turns
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


def run(*arguments: str) -> str:
    """Return what an interpreter started with these arguments writes to stderr."""
    done = subprocess.run(
        [sys.executable, *arguments],
        check=True,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )
    return done.stderr


def importing(*command: str) -> str:
    """Return a program that imports the libraries a command uses and does nothing else."""
    told = run("-c", TELL_LIBRARIES, *command).splitlines()
    names = [line.removeprefix("library ") for line in told if line.startswith("library ")]
    return "\n".join(
        ["import importlib, contextlib"]
        + [f"with contextlib.suppress(ImportError): importlib.import_module({n!r})" for n in names]
    )


def findings() -> list[Finding]:
    """Return the cost of the weekend page and of the help text."""
    with tempfile.TemporaryDirectory() as folder:
        weekend = ("weekend", str(DEMO), "--out", str(Path(folder) / "weekend.html"))
        libraries = importing(*weekend)
        page = in_turns(
            lambda: run("-m", "yieldwright", *weekend), lambda: run("-c", libraries), rounds=7
        )
    asked = in_turns(
        lambda: run("-m", "yieldwright", "--help"), lambda: run("-c", "pass"), rounds=15
    )
    return [
        at_most("weekend page of the demo / importing its libraries", page, 1.5),
        at_most("--help / a bare interpreter", asked, 5),
    ]
