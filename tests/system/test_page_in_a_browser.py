"""The printed page in a browser, where there is one: one sheet of A4, nothing cut off on a phone, and as it was looked at.

The phone is 390 CSS pixels wide (common practice, no source); 320 is what the Web Content Accessibility Guidelines 2.2 ask for in
1.4.10 Reflow; A4 is ISO 216.
"""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from attrs import evolve
from PIL import Image

from coatrules import WorkOrder, load_history, work_order
from coatrules.catalogue.languages import catalogue
from coatrules.catalogue.speaking import speaking
from coatrules.report.page import page
from tests.support.paths import GOLDEN

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = [pytest.mark.slow, pytest.mark.skipif(BROWSER is None, reason="no browser is installed")]

DAY = date(2026, 3, 9)
PROFILE = "griffon-bruxellois-rough"


def full_day(profile: str) -> WorkOrder:
    """A new dog, a name that takes room, places that it refused, and skin that is not sound in three."""
    dog = {"id": "one", "name": "Bartholomew of the Long Meadow", "show": "2026-06-01"}
    unsound = {part: {"skin": "unsound"} for part in ("belly", "throat", "buttocks")}
    visit = {"visit": "2026-03-05", "reactions": {"toes": "stop", "ears-outside": "stop"}, "seen": unsound}
    return work_order(profile, load_history({"format": 1, "dog": dog, "visits": [visit]}), date=DAY)


def browse(folder: Path, html: str, *options: str) -> bytes:
    """What the browser prints for a page; its files are put into ``folder``."""
    assert BROWSER is not None
    file = folder / "page.html"
    file.write_text(html, "utf-8")
    command = [BROWSER, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", *options, file.as_uri()]
    return subprocess.run(command, check=True, capture_output=True, timeout=60).stdout


@pytest.mark.parametrize(
    ("profile", "tag"), [(PROFILE, "en"), ("border-terrier", "de"), ("dutch-shepherd-rough", "fr")]
)
def test_a_full_day_takes_one_sheet_of_a4(profile: str, tag: str, tmp_path: Path) -> None:
    with speaking(catalogue(tag)):
        html = page(full_day(profile))
    browse(tmp_path, html, "--no-pdf-header-footer", f"--print-to-pdf={tmp_path / 'page.pdf'}")
    printed = (tmp_path / "page.pdf").read_bytes()
    assert len(re.findall(rb"/Type /Page\s", printed)) == 1
    sizes = {tuple(map(float, size.split())) for size in re.findall(rb"/MediaBox \[0 0 ([\d. ]+)\]", printed)}
    assert {(round(wide * 25.4 / 72), round(high * 25.4 / 72)) for wide, high in sizes} == {(210, 297)}


def beyond(html: str, width: int, folder: Path) -> tuple[str, ...]:
    """How wide a page is on a screen so wide, how many of its texts reach beyond it, and how many beyond their own box."""
    inside = re.sub(r"<meta http-equiv[^>]*>", "", html).replace("&", "&amp;").replace('"', "&quot;")
    asked = """<script>onload = () => { const page = document.querySelector('iframe').contentDocument;
      const wide = page.documentElement.clientWidth;
      const texts = [...page.querySelectorAll('td, th, li, p, h1, h2, span, svg')].map(e => [e, e.getBoundingClientRect()])
        .filter(([e, box]) => box.width > 2);
      const over = texts.filter(([e, box]) => box.right > wide + 0.5 || box.left < -0.5);
      const cut = texts.filter(([e, box]) => e.clientWidth > 2 && e.scrollWidth > e.clientWidth + 1);
      document.title = [page.documentElement.scrollWidth, over.length, cut.length].join(' ') }</script>"""
    frame = f'<!DOCTYPE html><title></title><iframe style="width:{width}px;height:800px;border:0" srcdoc="{inside}"></iframe>'
    shown = browse(folder, frame + asked, "--window-size=800,900", "--dump-dom").decode()
    found = re.search(r"<title>(\d+) (\d+) (\d+)</title>", shown)
    assert found is not None
    return found.groups()


@pytest.mark.parametrize(("profile", "width"), [(PROFILE, 390), ("dutch-smoushond", 320)])
def test_nothing_is_cut_off_on_a_phone(profile: str, width: int, tmp_path: Path) -> None:
    assert beyond(page(full_day(profile), steps=True), width, tmp_path) == (str(width), "0", "0")


@pytest.mark.parametrize(("profile", "width", "tag"), [("welsh-terrier", 390, "de"), ("english-setter", 320, "fr")])
def test_long_words_are_broken_on_a_phone(profile: str, width: int, tag: str, tmp_path: Path) -> None:
    """Each part with a name of 37 letters in one word; of 15 such pages none was cut off when they were looked at."""
    order = full_day(profile)
    order = evolve(
        order, labels={name: f"Zwischenzehenhautbehaarungsbezirk{at:04}" for at, name in enumerate(order.labels)}
    )
    assert {len(text) for text in order.labels.values()} == {37}
    with speaking(catalogue(tag)):
        html = page(order, steps=True)
    assert beyond(html, width, tmp_path) == (str(width), "0", "0")


@pytest.mark.parametrize(("name", "size"), [("page", "794,1123"), ("page-phone", "390,2200")])
def test_the_page_looks_as_it_was_seen(name: str, size: str, tmp_path: Path) -> None:
    order = work_order(PROFILE, load_history({"format": 1, "dog": {"id": "reed", "name": "Reed"}}), date=DAY)
    browse(tmp_path, page(order), f"--window-size={size}", f"--screenshot={tmp_path / 'page.png'}")
    whole = Image.open(io.BytesIO((tmp_path / "page.png").read_bytes())).convert("L")
    small = whole.resize((whole.width // 2, whole.height // 2), Image.Resampling.BOX)
    if os.environ.get("COATRULES_GOLDEN") == "write":  # look at them before they are committed
        small.save(GOLDEN / f"{name}.png", optimize=True)
    kept = Image.open(GOLDEN / f"{name}.png").convert("L")
    assert kept.size == small.size
    # Lettering differs a little from browser to browser; a table in another place does not.
    coarse = [np.asarray(one.resize((one.width // 8, one.height // 8)), float) for one in (kept, small)]
    assert float(np.abs(coarse[0] - coarse[1]).mean()) < 6
