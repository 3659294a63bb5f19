"""A headless Chromium for tests: how wide a page gets, what it complains of, how it prints."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from html import unescape
from pathlib import Path
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome")
_QUIET = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
)
_HARNESS = """<!DOCTYPE html><meta charset="utf-8"><title>harness</title>
<iframe id="page" src="{source}" style="width:{width}px;height:900px;border:0"></iframe>
<pre id="found"></pre>
<script>
addEventListener("load", () => {{
  const page = document.getElementById("page").contentDocument;
  const root = page.documentElement;
  const wide = [...page.querySelectorAll("body *")].filter(
    e => e.getBoundingClientRect().right > root.clientWidth + 1 && !e.closest(".scroll"));
  document.getElementById("found").textContent = JSON.stringify({{
    scroll: root.scrollWidth, client: root.clientWidth,
    wide: wide.map(e => e.tagName + "." + e.getAttribute("class")).slice(0, 5)}});
}});
</script>
"""


def executable() -> str:
    """Return the browser, or skip the test for want of one."""
    for name in NAMES:
        found = shutil.which(name)
        if found:
            return found
    pytest.skip("no Chromium here")


def _run(profile: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    command = [executable(), *_QUIET, f"--user-data-dir={profile}", *arguments]
    environment = {**os.environ, "NO_PROXY": "*"}
    return subprocess.run(
        command,
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
        env=environment,
        encoding="utf-8",
    )


def measured(page: Path, width: int, scratch: Path) -> dict[str, Any]:
    """Return how wide a page gets in a window of some width, and what sticks out."""
    harness = scratch / f"harness-{width}.html"
    source = page.resolve().as_uri()
    harness.write_text(_HARNESS.format(source=source, width=width), encoding="utf-8")
    dumped = _run(
        scratch / f"profile-{width}",
        "--allow-file-access-from-files",
        f"--window-size={width + 60},1000",
        "--dump-dom",
        harness.as_uri(),
    ).stdout
    text = re.search(r'<pre id="found">(.*?)</pre>', dumped, re.DOTALL)
    assert text is not None
    found: dict[str, Any] = json.loads(unescape(text[1]))
    return found


def complaints(page: Path, scratch: Path) -> list[str]:
    """Return what the page writes to the browser's console, refused loads included."""
    done = _run(
        scratch / "profile-console",
        "--enable-logging=stderr",
        "--dump-dom",
        page.resolve().as_uri(),
    )
    return [line for line in done.stderr.splitlines() if "CONSOLE" in line]


def printed_sides(page: Path, paper: str, scratch: Path) -> int:
    """Return how many sides a page takes on A4 or Letter, in letters as wide as they come."""
    sized = scratch / f"{paper}.html"
    text = page.read_text(encoding="utf-8")
    fonts = ':root { --serif: "DejaVu Serif"; --sans: "DejaVu Sans"; }'
    rule = f"<style>@page {{ size: {paper}; }} {fonts}</style></head>"
    sized.write_text(text.replace("</head>", rule, 1), encoding="utf-8")
    pdf = scratch / f"{paper}.pdf"
    _run(
        scratch / f"profile-{paper}",
        "--no-pdf-header-footer",
        f"--print-to-pdf={pdf}",
        sized.as_uri(),
    )
    return len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))
