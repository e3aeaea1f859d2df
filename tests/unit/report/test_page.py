"""The printed page: valid HTML that says all that the order says, to be read by anyone, and that no text can take over."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import html5lib
import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import WorkOrder, load_history, load_profile, work_order
from coatrules.catalogue.message import authors
from coatrules.cli import main
from coatrules.report import page as page_module
from coatrules.report.box import decided
from coatrules.report.owner import owner_page
from coatrules.report.page import _letter, chart_numbers, page
from coatrules.report.passes import pass_lines
from coatrules.report.rows import work_rows
from coatrules.report.safe_text import plain
from coatrules.report.sheet import next_visit
from tests.support.paths import GOLDEN

PROFILE = load_profile(GOLDEN / "plain-terrier.yaml")
HISTORY = load_history(GOLDEN / "tansy.yaml")
DAY = date(2026, 3, 9)
ORDER = work_order(PROFILE, HISTORY, date=DAY, minutes=30, ahead=True)
UNWELL = {"format": 1, "dog": {"id": "reed"}, "visits": [{"visit": "2026-03-09", "health": ["unwell"]}]}
ORDERS = {
    "short": ORDER,
    "nothing": work_order(PROFILE, load_history(UNWELL), date=DAY),
    "many-steps": work_order("griffon-bruxellois-rough", load_history({"format": 1, "dog": {"id": "moss"}}), date=DAY),
}
PLAIN_TAGS = {
    *("html", "head", "meta", "title", "style", "body"),
    *("main", "header", "h1", "p", "section", "h2", "ul", "li"),
}
HOSTILE = (
    "</title></style></script><script>alert(1)</script><img src=x onerror=alert(1)>{{ 7*7 }}&quot;\"'\x1b[2J\u202e"
)


def parsed(html: str) -> Element:
    """The page by an HTML parser that takes no fault: the algorithm of the HTML Living Standard (WHATWG)."""
    tree: Element = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(html)
    return tree


def text(element: Element) -> str:
    return " ".join("".join(element.itertext()).split())


PAGES = {name: page(order, steps=True) for name, order in ORDERS.items()}
TREES = {name: parsed(html) for name, html in PAGES.items()}
ONE_SHEET = {name: page(order) for name, order in ORDERS.items()}


@pytest.fixture(params=ORDERS)
def sheet(request: pytest.FixtureRequest) -> tuple[WorkOrder, Element]:
    """An order and its page with every step."""
    return ORDERS[request.param], TREES[request.param]


@pytest.fixture(params=ORDERS)
def one_sheet(request: pytest.FixtureRequest) -> tuple[WorkOrder, Element]:
    """An order and its page as one sheet."""
    return ORDERS[request.param], parsed(ONE_SHEET[request.param])


# --- built as the Web Content Accessibility Guidelines 2.2 ask ---


def test_the_page_has_a_language_a_title_and_headings_in_order(sheet: tuple[WorkOrder, Element]) -> None:
    _, tree = sheet
    assert tree.get("lang") == "en"  # 3.1.1
    assert text(tree.find("head/title"))  # type: ignore[arg-type]  # 2.4.2; an absent one fails here
    levels = [int(element.tag[1]) for element in tree.iter() if re.fullmatch("h[1-6]", str(element.tag))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(later <= earlier + 1 for earlier, later in pairwise(levels))  # 1.3.1


def test_tables_have_captions_and_headers_with_a_scope(sheet: tuple[WorkOrder, Element]) -> None:
    _, tree = sheet
    for table in tree.iter("table"):  # techniques H39, H51, H63
        caption = table.find("caption")
        assert caption is not None
        assert text(caption)
        assert {header.get("scope") for header in table.iter("th")} == {"col", "row"}
        widths = {len(row.findall("th")) + len(row.findall("td")) for row in table.iter("tr")}
        assert len(widths) == 1, "every row has a cell for every column"
        assert all(len(row.findall("th")) == 1 for row in table.iterfind("tbody/tr"))


@pytest.mark.parametrize(("table", "columns"), [("passes", 6), ("work", 8)])
def test_on_a_phone_every_cell_of_a_line_has_its_own_place(
    table: str, columns: int, sheet: tuple[WorkOrder, Element]
) -> None:
    _, tree = sheet
    style = next(text(element) for element in tree.iter("style"))
    places = dict(re.findall(rf"\.{table} \.(\w+) \{{ grid-area: ([^;]+);", style))
    assert len(set(places.values())) == len(places) == columns
    for row in tree.iterfind(f".//table[@class='{table}']/tbody/tr"):
        assert {cell.get("class") for cell in row} == set(places), "none is left out, none lies over another"
        unheaded = [cell for cell in row if cell.get("class") in ("letter", "blank") and not cell.get("data-head")]
        assert not unheaded, "the head of the table is out of sight there"


def test_what_is_ticked_and_drawn_has_a_name(sheet: tuple[WorkOrder, Element]) -> None:
    _, tree = sheet
    boxes = list(tree.iter("input"))
    names = [box.get("aria-label") or "" for box in boxes]  # 4.1.2
    assert all(names)
    assert len(set(names)) == len(names)
    pictures = [element for element in tree.iter("div") if element.get("role") == "img"]
    assert all(element.get("aria-label") for element in pictures)  # 1.1.1
    assert len(pictures) == 1
    ids = [id_ for element in tree.iter() if (id_ := element.get("id")) is not None]
    assert len(ids) == len(set(ids))
    labelled_by = {id_ for element in tree.iter() if (id_ := element.get("aria-labelledby")) is not None}
    assert labelled_by <= set(ids)
    landmarks = [element for element in tree.iter() if element.tag == "section" or element.get("role") == "region"]
    named_by = [element.get("aria-labelledby") for element in landmarks]
    assert len(set(named_by)) == len(named_by)  # technique ARIA13: no two landmarks have one name


def test_the_page_needs_nothing_from_anywhere(sheet: tuple[WorkOrder, Element]) -> None:
    _, tree = sheet
    assert not {"script", "link", "img", "iframe", "object", "base", "form"} & {
        str(element.tag) for element in tree.iter()
    }
    for element in tree.iter():
        for name, value in element.attrib.items():
            assert not name.lower().startswith("on")
            assert "://" not in value or name.startswith(("xmlns", "{http://www.w3.org/2000/xmlns/}")), (name, value)
    styles = " ".join(text(style) for style in tree.iter() if str(style.tag).endswith("style"))
    assert "@import" not in styles
    assert not re.search(r"url\((?!#)", styles)


# --- all that the order says ---


def cells(tree: Element, table: str = "work") -> Iterator[list[str]]:
    for row in tree.iterfind(f".//table[@class='{table}']/tbody/tr"):
        yield [text(cell) for cell in row]


def test_the_page_is_the_short_sheet(one_sheet: tuple[WorkOrder, Element]) -> None:
    """Two A4 pages of steps, with the picture last, were no sheet for the table."""
    order, tree = one_sheet
    assert [element.get("class") for element in tree.iter("table")] == (["passes"] if order.steps else [])
    passes = pass_lines(order)
    rows = list(cells(tree, "passes"))
    assert [row[1] for row in rows] == [str(one.number) for one in passes]
    assert [row[2] for row in rows] == [" ".join(f"{one.tool} {one.amount}".split()) for one in passes]
    assert sum(half_minutes(row[4].partition(" ")[0]) for row in rows) == order.minutes_planned
    words = text(tree)
    boxed = next(element for element in tree.iter("section") if element.get("aria-labelledby") == "decide")
    assert [text(item) for item in boxed.iter("li")] == [" ".join(plain(one).split()) for one in decided(order)]
    assert next_visit(order) in words
    # A puppy's stood there a second time as one of single steps.
    assert all(words.count(caution.text) == 1 for caution in order.cautions)
    assert sum(element.get("class") == "fill" for element in tree.iter("p")) >= 6, "blanks to fill in"


def half_minutes(shown: str) -> float:
    return float(shown.replace("½", ".5") if shown != "½" else 0.5)


def test_every_step_is_a_row_to_tick(sheet: tuple[WorkOrder, Element]) -> None:
    order, tree = sheet
    if not order.steps:
        assert "Nothing is to be done today." in text(tree)
        return
    rows = list(cells(tree))
    assert len(rows) == len(work_rows(order))
    assert len(list(tree.iter("input"))) == len(rows) + len(pass_lines(order))
    assert [row[1] for row in rows] == [str(number) for number in range(1, len(rows) + 1)]
    assert sum(half_minutes(row[5]) for row in rows) == order.minutes_planned
    for step in order.steps:
        if step.region is not None:
            label = order.labels[step.region].lower()
            assert any(label in row[2].lower() and row[4] == step.tools for row in rows)


def test_every_region_and_every_reason_is_on_the_page(sheet: tuple[WorkOrder, Element]) -> None:
    order, tree = sheet
    page_text = text(tree).lower()
    if len(order.not_to_be_touched) < len(order.labels):  # else one reason holds for the whole dog
        for label in order.labels.values():
            assert label.lower() in page_text
    for said in (*order.cautions, *order.refer, *(problem.message for problem in order.findings)):
        assert plain(str(said)).lower() in page_text
    for reasons in (*order.left_alone.values(), *order.not_to_be_touched.values()):
        assert all(reason.text.lower() in page_text for reason in reasons)
    for step in order.steps:
        assert all(caution.text.lower() in page_text for caution in step.cautions)


def test_every_letter_is_explained_and_used(sheet: tuple[WorkOrder, Element]) -> None:
    order, tree = sheet
    if not order.steps:
        return
    used = {letter for row in cells(tree) for letter in row[6].split()}
    entries = {text(item.find("strong")): text(item) for item in tree.iter("li") if item.find("strong") is not None}  # type: ignore[arg-type]  # just tested
    explained = {letter: entry for letter, entry in entries.items() if re.fullmatch("[a-z]{1,2}", letter)}
    assert set(explained) == used
    why = {reason for row in work_rows(order) for reason in row.why}
    assert {entry.partition(" ")[2] for entry in explained.values()} == {" ".join(reason.split()) for reason in why}


def test_letters_go_on_after_z() -> None:
    assert [_letter(index) for index in (0, 25, 26, 51, 52, 701, 702)] == ["a", "z", "aa", "az", "ba", "zz", "aaa"]
    assert len({_letter(index) for index in range(800)}) == 800


def test_the_chart_bears_the_numbers_of_the_lines() -> None:
    passes = pass_lines(ORDER)
    numbers = chart_numbers(passes)
    assert set(numbers) == {step.region for step in ORDER.steps if step.region is not None}
    for region, number in numbers.items():
        steps = [step for step in passes[int(number) - 1].steps if step.region == region]
        pulled = any(step.share for step in ORDER.steps if step.region == region)
        assert any(step.task == "pull" for step in steps) == pulled
    drawn = next(element for element in TREES["short"].iter("div") if element.get("role") == "img")
    shown = {text(element) for element in drawn.iter() if str(element.tag).endswith("text")}
    assert set(numbers.values()) <= shown


def test_what_the_drawing_lacks_is_said() -> None:
    tree = TREES["short"]
    assert "Not in the drawing: Ruff." in text(tree)
    # Below the picture many parts of a profile of one's own ran over the cautions: the picture's height is bounded.
    assert not any("Not in the drawing" in text(figure) for figure in tree.iter("figure"))


def test_stop_comes_before_everything_else() -> None:
    first, second = [text(element) for element in TREES["nothing"].iter() if element.tag in ("h1", "h2")][:2]
    assert (first, second) == ("reed", "Stop: a veterinary surgeon first")


# --- no text takes the page over ---


def hostile() -> WorkOrder:
    labels = {name: f"{HOSTILE} {name}" for name in ORDER.labels}
    said = (authors("caution", HOSTILE),)
    steps = tuple(evolve(step, cautions=said, how=HOSTILE, tools="x" + HOSTILE) for step in ORDER.steps)
    return evolve(ORDER, dog_name=HOSTILE, profile_label=HOSTILE, labels=labels, steps=steps, refer=said)


def test_hostile_text_is_shown_as_it_is_written() -> None:
    tree = parsed(page(hostile()))
    assert [element.tag for element in tree.iter("script")] == []
    assert [element.tag for element in tree.iter("img")] == []
    heading = next(tree.iter("h1"))
    assert text(heading) == " ".join(plain(HOSTILE).split())
    assert len(heading) == 0
    assert "{{ 7*7 }}" in text(heading), "and not worked out"
    assert not re.search("[\x1b\u202e]", page(hostile())), "nor does anything of it steer a terminal"


@settings(max_examples=60)
@given(st.text(min_size=1, max_size=60))
def test_any_name_leaves_the_page_whole(name: str) -> None:
    order = evolve(ORDER, dog_name=name, labels={region: name + region for region in ORDER.labels})
    tree = parsed(owner_page(order))
    assert {element.tag for element in tree.iter()} <= PLAIN_TAGS
    assert text(next(tree.iter("h1"))) == " ".join(f"For the owner of {plain(name)}".split())


def test_a_notebook_shows_the_page_in_a_frame_that_runs_nothing() -> None:
    order = hostile()
    shown = html5lib.parseFragment(order._repr_html_(), namespaceHTMLElements=False)
    frames = list(shown)
    assert [frame.tag for frame in frames] == ["iframe"]
    assert frames[0].get("sandbox") == ""
    assert frames[0].get("srcdoc") == page(order)


def test_without_the_extra_the_page_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("coatrules.extras.find_spec", lambda name: None)
    line = ["order", str(GOLDEN / "tansy.yaml"), "--profiles", str(GOLDEN), "--date", "2026-03-09"]
    assert main([*line, "--format", "page"]) == 1
    assert "pip install 'coatrules[report]'" in capsys.readouterr().err
    assert page_module.notebook(hostile()).startswith("<pre>&lt;/title&gt;")


# --- the command ---


@pytest.mark.parametrize("more", [[], ["--steps"], ["--for", "owner"]])
def test_the_command_writes_the_page(more: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    line: list[Any] = ["order", str(GOLDEN / "tansy.yaml"), "--profiles", str(GOLDEN), "--date", "2026-03-09"]
    line += ["--minutes", "30", "--format", "page", *more]
    assert main(line) == 0
    printed = capsys.readouterr().out
    expected = {"--for": owner_page(ORDER), "--steps": PAGES["short"], "": ONE_SHEET["short"]}
    assert printed == expected[more[0] if more else ""], "and the same every time"
    assert main([*line, "--out", str(tmp_path / "x.html")]) == 0
    assert (tmp_path / "x.html").read_text(encoding="utf-8") == printed


def test_a_page_may_fetch_nothing_and_run_nothing() -> None:
    # Source: W3C, Content Security Policy Level 3, 3.3 (the meta element) and 6.1.3 (default-src).
    source = (Path(__file__).parents[3] / "coatrules" / "report" / "templates" / "sheet.html.jinja").read_text("utf-8")
    head = source.partition("<style>")[0]
    assert 'http-equiv="Content-Security-Policy" content="default-src \'none\';' in head
    assert "script-src" not in head
