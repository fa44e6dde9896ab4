"""Headless Chromium for tests: finds it, measures a page, takes a picture."""

import json
import os
import re
import shutil
import subprocess
import tempfile
from html import escape, unescape
from pathlib import Path

import pytest

from tests.patience import HANG_S

FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
)


def browser() -> str:
    """Path of Chromium. In CI it must be there; elsewhere the test is skipped and says so."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        found = shutil.which(name)
        if found:
            return found
    if os.environ.get("CI"):
        pytest.fail("browser not found: Chromium must be installed where CI is set")
    pytest.skip("browser not found: the page was not looked at; install Chromium to run this check")


def axe_core() -> str:
    """Source of the checker of accessibility. In CI it must be there; elsewhere the test is skipped and says so."""
    found = Path(__file__).parent / "node_modules" / "axe-core" / "axe.min.js"
    if found.exists():
        return found.read_text(encoding="utf-8")
    if os.environ.get("CI"):
        pytest.fail("axe-core not found: `npm ci --prefix tests/browser` must have run where CI is set")
    pytest.skip("axe-core not found: accessibility was not looked at; run `npm ci --prefix tests/browser`")


def measure(html: str, width: int, script: str, height: int = 900, *, dark: bool = False) -> dict[str, object]:
    """Open ``html`` in a frame of a width with ``script`` added (it must fill ``result``) and return the result.

    A frame, because headless windows don't get as narrow as a phone. The script may await.
    """
    open_page = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", html)
    probe = (
        f"<script>(async () => {{const result = {{}};{script};"
        "parent.document.title = 'R:' + JSON.stringify(result);})();</script></body>"
    )
    framed = escape(open_page.replace("</body>", probe), quote=True)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "page.html"
        frame = f'<iframe width="{width}" height="{height}" style="border:0" srcdoc="{framed}"></iframe>'
        path.write_text(f"<!doctype html><title>none</title><body style='margin:0'>{frame}</body>", encoding="utf-8")
        out = subprocess.run(
            [
                browser(),
                *FLAGS,
                f"--user-data-dir={folder}/profile",
                f"--window-size={max(width, 600)},{height}",
                f"--blink-settings=preferredColorScheme={0 if dark else 1}",
                "--virtual-time-budget=3000",
                "--dump-dom",
                path.as_uri(),
            ],
            capture_output=True,
            text=True,
            timeout=HANG_S,
            check=True,
        ).stdout
    found = re.search(r"<title>R:(.*?)</title>", out, re.S)
    assert found, "the page did not run the probe"
    return json.loads(unescape(found.group(1)))


def picture(html_path: Path, png: Path, width: int, height: int, *, dark: bool = False) -> None:
    """Take a picture of a page."""
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(
            [
                browser(),
                *FLAGS,
                f"--user-data-dir={folder}/profile",
                f"--window-size={width},{height}",
                f"--blink-settings=preferredColorScheme={0 if dark else 1}",
                f"--screenshot={png}",
                html_path.resolve().as_uri(),
            ],
            capture_output=True,
            timeout=HANG_S,
            check=True,
        )


def sides(html: str, folder: Path) -> int:
    """Print a page and count the sides of paper it takes."""
    path, pdf = folder / "print.html", folder / "print.pdf"
    path.write_text(html, encoding="utf-8")
    command = [browser(), *FLAGS, f"--user-data-dir={folder}/profile", "--no-pdf-header-footer"]
    command += [f"--print-to-pdf={pdf}", path.as_uri()]
    subprocess.run(command, capture_output=True, timeout=HANG_S, check=True)
    return len(re.findall(rb"/Type\s*/Page[^s]", pdf.read_bytes()))
