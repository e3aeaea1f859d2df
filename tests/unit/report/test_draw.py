"""The pictures: shades that say what the order says, the same bytes every time."""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import get_args
from xml.etree import ElementTree

import matplotlib
import numpy as np
import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.colors import to_hex, to_rgb
from matplotlib.figure import Figure
from PIL import Image

from coatrules import History, InputError, WorkOrder, load_history, load_profile, work_order
from coatrules.book.due import due
from coatrules.catalogue.languages import catalogue
from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say, speaking
from coatrules.cli import main
from coatrules.coat.measures import standing
from coatrules.coat.queue import WHOLE
from coatrules.formats.values import Outline
from coatrules.profile.compiled import compile_profile
from coatrules.report import chart, shading
from coatrules.report.body import _view, body_chart, left_side
from coatrules.report.bookchart import MOST, book_chart
from coatrules.report.chart import Shade, image
from coatrules.report.drawing import drawing
from coatrules.report.safe_text import plain
from coatrules.report.shading import CARD, CUT, LATER, PULL_LITTLE, PULL_MUCH, PULL_SOME, Shading, by_fact, by_order
from coatrules.report.timeline import BLOWN, READY, RIPE, SHORT, UNDER, coat_chart, looks, stretches
from tests.support.paths import GOLDEN, ROOT

PROFILE = load_profile(GOLDEN / "plain-terrier.yaml")
PLAN = compile_profile(PROFILE)
HISTORY = load_history(GOLDEN / "tansy.yaml")
DAY = date(2026, 3, 9)
ORDER = work_order(PROFILE, HISTORY, date=DAY, minutes=30)
HOSTILE = '<script>alert(1)</script> $\\frac{1}{0 & "]]>\x1b[31m\u202e'


# --- colours ---


def test_the_colours_are_those_of_the_published_scales() -> None:
    # Okabe and Ito 2008, as matplotlib ships it from 3.11 on; before, the same figures from memory.
    ours = [
        getattr(chart, name) for name in ["BLACK", "ORANGE", "SKY", "GREEN", "YELLOW", "BLUE", "VERMILLION", "PURPLE"]
    ]
    theirs = dict(matplotlib.color_sequences).get("okabe_ito", ours)
    assert ours == [to_hex(colour) for colour in theirs]
    # Cividis (Nuñez, Anderton and Renslow 2018), as matplotlib ships it.
    cividis = matplotlib.colormaps["cividis"]
    assert [colour for colour, _, _ in shading._SCALE] == [to_hex(cividis(x)) for x in (0.95, 0.72, 0.5, 0.27, 0.05)]


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in to_rgb(colour)]
    return float(np.dot(parts, (0.2126, 0.7152, 0.0722)))


def test_shades_are_told_apart_without_colour() -> None:
    sets: list[list[Shade]] = [
        [
            getattr(shading, name)
            for name in ["PULL_LITTLE", "PULL_SOME", "PULL_MUCH", "CARD", "CUT", "LATER", "ALONE", "HANDS_OFF"]
        ],
        [Shade("", *look) for look in shading._SCALE],
        [UNDER, SHORT, READY, BLOWN],
    ]
    for shades in sets:
        for index, shade in enumerate(shades):
            for other in shades[:index]:
                contrast = sorted((luminance(shade.colour) + 0.05, luminance(other.colour) + 0.05))
                assert shade.hatch != other.hatch or contrast[1] / contrast[0] > 1.5, (shade, other)


def test_lettering_has_the_contrast_that_wcag_asks_for() -> None:
    for ink, least in ((chart.INK, 7.0), (chart.GREY, 4.5)):  # success criteria 1.4.6 and 1.4.3
        assert 1.05 / (luminance(ink) + 0.05) >= least


# --- what is said ---


def test_the_shades_say_what_the_order_says() -> None:
    shading = by_order(ORDER)
    assert set(shading.regions) == set(PROFILE.regions)
    for name, shade in shading.regions.items():
        shares = [step.share for step in ORDER.steps if step.region == name and step.share]
        kinds = {step.task for step in ORDER.steps if step.region == name}
        words_hold = {
            "left alone": name in ORDER.left_alone,
            "not to be touched": name in ORDER.not_to_be_touched,
            "put off to next time": name in ORDER.deferred and not kinds,
            "card only": kinds == {"card"},
            "clip, scissor or comb": bool(kinds - {"card", "pull"}) and not shares,
            "pull less than 1/6": bool(shares) and max(shares) < 0.154,
            "pull 1/6 to under 1/4": bool(shares) and 0.155 <= max(shares) < 0.2399,
            "pull 1/4 or more": bool(shares) and max(shares) >= 0.2401,
        }
        assert [words for words, holds in words_hold.items() if holds] == [shade.words]
    assert all(len(set(said)) == len(said) for said in (words.split(", ") for words in shading.words.values()))
    assert {shade.words for shade in shading.legend} == {shade.words for shade in shading.regions.values()}
    assert len(shading.legend) >= 4, "the example is to show several kinds"


FIGURE = re.compile(r"^(\d+(?:\.\d+)?)( %| mm| weeks?| minutes?)?$")


def figure(words: str) -> float:
    matched = FIGURE.match(words)
    assert matched, words
    return float(matched[1]) / (100 if matched[2] == " %" else 1)


@settings(max_examples=80)
@given(
    st.sampled_from([("cover", 1.0), ("longest_mm", 300.0), ("weeks_since_pull", 104.0)]).flatmap(
        lambda fact: st.tuples(
            st.just(fact[0]),
            st.lists(st.floats(0, fact[1], width=16), min_size=len(PLAN.regions), max_size=len(PLAN.regions)),
        )
    )
)
def test_each_figure_lies_in_the_band_it_is_shaded_by(drawn: tuple[str, list[float]]) -> None:
    fact, values = drawn
    facts = {name: {fact: value} for name, value in zip(PLAN.regions, values, strict=True)}
    by_figure = by_fact(evolve(ORDER, all_facts=facts), fact)
    assert len(by_figure.legend) <= 5
    for name, value in zip(PLAN.regions, values, strict=True):
        low, high = map(figure, by_figure.regions[name].words.split(" to "))
        half = 0.051 if fact != "cover" else 0.0051  # bounds are written to a tenth, shares to a whole percent
        assert low - half <= value <= high + half


def test_facts_that_are_words_or_whole_numbers_are_shaded_too() -> None:
    sensitivity = by_fact(ORDER, "sensitivity")
    assert sensitivity.words["front-toes"] == sensitivity.regions["front-toes"].words == "high"
    assert [shade.words for shade in sensitivity.legend] == ["none", "medium", "high"], "in the order of the catalogue"
    layers = by_fact(ORDER, "layers")
    assert all(layers.regions[name].words == str(facts["layers"]) for name, facts in ORDER.facts.items())
    skin = by_fact(ORDER, "skin")
    assert (skin.regions["ribs"].words, skin.regions["back"].words) == ("unsound", "not known here")


def test_an_unknown_fact_is_refused_with_the_nearest() -> None:
    with pytest.raises(InputError, match="longest_mm") as refused:
        by_fact(ORDER, "longest")
    (problem,) = refused.value.problems
    assert (problem.code, problem.params) == ("no-such-fact", {"fact": "longest"})


# --- the coat through time ---


def test_the_stretches_are_the_coat_of_the_record() -> None:
    for region in ("back", "forearms", "perineum"):
        region_stretches = stretches(PLAN, HISTORY, ORDER, region)
        assert all(sum(cohort.mass for cohort in stretch.coat.cohorts) == WHOLE for stretch in region_stretches)
        assert all(stretch.end == other.start for stretch, other in pairwise(region_stretches))
        before = next(stretch for stretch in region_stretches if stretch.end == DAY.toordinal())
        cohorts = [(round(share * WHOLE), day.toordinal()) for share, day in ORDER.hair[region]]
        assert [(cohort.mass, cohort.day) for cohort in before.coat.cohorts] == cohorts
        assert region_stretches[-1].end > ORDER.next_visit.best.toordinal()


def test_the_states_of_the_hair_add_up_to_what_is_read_off_the_coat() -> None:
    region, pace = PLAN.regions["back"], ORDER.pace.of("back")
    for stretch in stretches(PLAN, HISTORY, ORDER, "back"):
        for day in range(stretch.start, stretch.end, 5):
            masses = dict.fromkeys((UNDER, SHORT, READY, RIPE, BLOWN), 0)
            for cohort, (loose, ripe, shade) in zip(
                stretch.coat.cohorts, looks(region, pace, stretch.coat, day), strict=True
            ):
                masses[BLOWN] += loose
                masses[RIPE] += ripe - loose
                masses[shade] += cohort.mass - ripe
            measures = standing(stretch.coat, region.growth, pace, day)
            assert masses[BLOWN] / WHOLE == pytest.approx(measures.blown_share)
            assert (masses[RIPE] + masses[BLOWN]) / WHOLE == pytest.approx(measures.ripe_share)
            assert (masses[READY] + masses[RIPE] + masses[BLOWN]) / WHOLE == pytest.approx(measures.ready_share)
            assert 1 - masses[UNDER] / WHOLE == pytest.approx(measures.through_share)


def test_a_dog_without_a_visit_has_a_picture_too() -> None:
    history = load_history({"format": 1, "dog": {"id": "new"}})
    assert coat_chart(PLAN, history, DAY, "back", "svg").startswith(b"<?xml")
    with pytest.raises(InputError, match=r"no region 'bak'\n.*Use 'back'"):
        coat_chart(PLAN, history, DAY, "bak", "svg")


# --- the same bytes, safe in any reader ---


def pictures(order: WorkOrder, history: History) -> dict[str, bytes]:
    book = [due(PLAN, history, DAY)]
    return {
        "body": body_chart(order, "svg"),
        "left": left_side(order, {"back": "7"}).svg.encode(),
        "coat": coat_chart(PLAN, history, DAY, "back", "svg"),
        "book": book_chart(book, DAY, "svg"),
    }


def test_a_picture_is_the_same_every_time_and_bears_no_date() -> None:
    first = coat_chart(PLAN, HISTORY, DAY, "ribs", "svg")
    assert b"metadata" not in first
    assert b"2026-" not in first
    code = f"""
from datetime import date
from pathlib import Path
from coatrules import load_history, load_profile
from coatrules.profile.compiled import compile_profile
from coatrules.report.timeline import coat_chart
folder = Path({str(GOLDEN)!r})
compiled, history = compile_profile(load_profile(folder / 'plain-terrier.yaml')), load_history(folder / 'tansy.yaml')
import sys
sys.stdout.buffer.write(coat_chart(compiled, history, date(2026, 3, 9), 'ribs', 'svg'))
"""
    seed = {**os.environ, "PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo", "PYTHONPATH": str(ROOT)}
    again = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, env=seed)
    assert again.stdout == first


def test_a_png_bears_no_maker_and_no_date() -> None:
    assert not Image.open(io.BytesIO(coat_chart(PLAN, HISTORY, DAY, "loin", "png"))).info.keys() - {"dpi"}


def test_settings_of_the_user_do_not_change_a_picture() -> None:
    before = left_side(ORDER, {})
    with matplotlib.rc_context({"font.size": 30, "svg.fonttype": "path", "hatch.linewidth": 5}):
        assert left_side(ORDER, {}) == before
        assert matplotlib.rcParams["font.size"] == 30, "and the user's settings stand afterwards"


def test_hostile_text_stays_text() -> None:
    plain_history = HISTORY
    history = evolve(plain_history, dog=evolve(plain_history.dog, name=HOSTILE))
    labels = {name: f"{HOSTILE} {name}" for name in PROFILE.regions}
    order = evolve(work_order(PROFILE, history, date=DAY), labels=labels, profile_label=HOSTILE)
    for name, picture in pictures(order, history).items():
        root = ElementTree.fromstring(picture)  # well-formed, and nothing but what we draw
        tags = {element.tag.rpartition("}")[2] for element in root.iter()}
        assert tags <= {"svg", "g", "path", "defs", "style", "clipPath", "use", "text", "tspan", "rect", "pattern"}, (
            name
        )
        drawn_words = " ".join(element.text or "" for element in root.iter() if element.tag.endswith("text"))
        if name != "left":
            assert plain(HOSTILE)[:12] in drawn_words
        assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", drawn_words)
    assert coat_chart(PLAN, history, DAY, "back", "png").startswith(b"\x89PNG")


def test_a_name_in_another_script_is_no_error() -> None:
    history = evolve(HISTORY, dog=evolve(HISTORY.dog, name="タンジー"))
    assert "タンジー" in coat_chart(PLAN, history, DAY, "back", "svg").decode()
    assert coat_chart(PLAN, history, DAY, "back", "png").startswith(b"\x89PNG")


@given(st.text())
def test_plain_text_is_one_line_that_steers_nothing(text: str) -> None:
    plain_text = plain(text)
    assert plain_text == plain(plain_text)
    assert not re.search(
        "[\x00-\x1f\x7f-\x9f\u2028\u2029\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]", plain_text
    )
    assert [c for c in plain_text if c.isalnum()] == [c for c in text if c.isalnum()], "and loses no letter"


# --- nothing is cut off ---


def texts_of(picture: bytes) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(picture).iter("{http://www.w3.org/2000/svg}text"))


def test_the_key_says_every_name_and_all_that_is_asked_in_full() -> None:
    griffon = work_order("griffon-bruxellois-rough", load_history({"format": 1, "dog": {"id": "moss"}}), date=DAY)
    texts = ["".join(text.itertext()) for text in texts_of(body_chart(griffon, "svg"))]
    words = by_order(griffon).words
    assert max(map(len, griffon.labels.values())) > 30, "some of them are long"
    for name, label in griffon.labels.items():
        assert label in texts
        assert words[name] in texts
    assert not [drawn_text for drawn_text in texts if "…" in drawn_text]


def test_a_row_of_the_key_that_is_too_long_is_written_smaller() -> None:
    long = "L" * 45
    labels = {**ORDER.labels, "back": long}
    sizes = {}
    for text in texts_of(body_chart(evolve(ORDER, labels=labels), "svg")):
        sizes["".join(text.itertext())] = float(re.findall(r"([\d.]+)px", text.get("style", ""))[0])
    shapes = drawing(ORDER.outline).shapes
    others = {sizes[label if name in shapes else f"{label}*"] for name, label in labels.items() if name != "back"}
    assert sizes[long] < min(others)
    assert max(others) == 8.5


@pytest.mark.parametrize("visits", [1, 5, 25])
def test_the_next_visit_s_name_ends_within_the_picture(visits: int) -> None:
    days = [DAY - timedelta(weeks=3 * n) for n in range(visits, 0, -1)]
    history = {
        "format": 1,
        "dog": {"id": "reed"},
        "visits": [{"visit": day.isoformat(), "work": {"body": {"pull": 0.2}}} for day in days],
    }
    shown = np.asarray(Image.open(io.BytesIO(coat_chart(PLAN, load_history(history), DAY, "back", "png"))).convert("L"))
    assert (shown[600:1000, -20:] == 255).all(), "the margin on the right of the lengths is empty"


def test_lines_between_regions_can_be_seen_on_the_darkest_shades() -> None:
    # WCAG 2.2, 1.4.11: what has to be seen in a picture has a contrast of 3 to 1.
    for colour, _, ink in shading._SCALE:
        line = chart.WHITE if colour in shading.DARK else chart.INK
        low, high = sorted((luminance(colour) + 0.05, luminance(line) + 0.05))
        assert high / low >= 3, (colour, ink)


@pytest.mark.parametrize("tag", ["en", "de", "fr"])
def test_the_shade_of_a_share_says_what_the_line_of_work_says(tag: str) -> None:
    """The key spoke of 15 and 25 per cent beside lines of a sixth and a quarter; 15 % is told as 1/7, and was in the class above it."""
    region, step = next((step.region, step) for step in ORDER.steps if step.share and step.region is not None)
    with speaking(catalogue(tag)):
        for share in np.arange(0.03, 1, 0.003):
            one = evolve(ORDER, steps=(evolve(step, share=float(share), bout=1),))
            shade = by_order(one).regions[region]
            told = say.amount("fraction", float(share))
            if told in ("1/7", "1/8", "1/10", "1/12", "1/20"):
                assert shade is PULL_LITTLE, (share, told)
            if told in ("1/6", "1/5") or told.endswith(" 1/5"):
                assert shade is PULL_SOME, (share, told)
            if told in ("1/4", "1/3", "1/2", "2/3"):
                assert shade is PULL_MUCH, (share, told)
        assert not [shade for shade in (PULL_LITTLE, PULL_SOME, PULL_MUCH) if "%" in shade.words]


# --- golden pictures ---


def small(picture: bytes) -> Image.Image:
    """The picture at a third of its size, so that lettering may differ a little."""
    whole = Image.open(io.BytesIO(picture)).convert("RGB")
    return whole.resize((whole.width // 3, whole.height // 3), Image.Resampling.BOX)


def difference(name: str, picture: bytes) -> float:
    """Mean difference (0 to 255) from the kept picture."""
    kept = Image.open(GOLDEN / f"{name}.png").convert("RGB")
    shrunk = small(picture)
    assert kept.size == shrunk.size
    return float(np.abs(np.asarray(kept, float) - np.asarray(shrunk, float)).mean())


def assert_as_kept(drawn: dict[str, bytes]) -> None:
    if os.environ.get("COATRULES_GOLDEN") == "write":  # look at them before they are committed
        for name, picture in drawn.items():
            small(picture).save(GOLDEN / f"{name}.png", optimize=True)
    away = {name: difference(name, picture) for name, picture in drawn.items()}
    assert max(away.values()) < 1.5, away


def all_builds() -> Figure:
    """The dogs of all builds side by side, neighbouring regions in different shades and numbered."""
    rows = -(-len(get_args(Outline)) // 2)
    figure = Figure(figsize=(9, 3 * rows))
    for place, build in enumerate(get_args(Outline)):
        shapes = drawing(build).shapes
        regions = {name: (PULL_LITTLE, PULL_MUCH, CARD, CUT, LATER)[number % 5] for number, name in enumerate(shapes)}
        numbers = {name: str(number) for number, name in enumerate(shapes, 1)}
        row, column = divmod(place, 2)
        rectangle = (column / 2, 1 - (row + 1) / rows, 0.5, 1 / rows)
        _view(figure, drawing(build), Shading("", regions, {}), numbers, rectangle, False, 8.0)
    return figure


def test_the_body_looks_as_it_was_seen_in_another_language() -> None:
    history = load_history(ROOT / "examples" / "salon" / "pip.yaml")
    order = work_order("griffon-bruxellois-rough", history, date=date(2026, 3, 21))
    with speaking(catalogue("de")):  # the longest words
        picture = body_chart(order, "png")
    assert_as_kept({"body-de": picture})
    assert difference("body-de", body_chart(order, "png")) > 0.5, "and it speaks that language"


def test_the_pictures_look_as_they_were_seen() -> None:
    moved = load_history({"format": 1, "dog": {"id": "reed", "name": "Reed"}})
    dogs = sorted((due(PLAN, dog, DAY) for dog in (HISTORY, moved)), key=lambda dog: dog.rank)
    drawn = {
        "body": body_chart(ORDER, "png"),
        "body-longest": body_chart(ORDER, "png", "longest_mm"),
        "coat-back": coat_chart(PLAN, HISTORY, DAY, "back", "png"),
        "book": book_chart(dogs, DAY, "png"),
    }
    assert_as_kept(drawn)
    assert difference("body", drawn["body-longest"]) > 3, "and the comparison can fail"


def test_each_build_looks_as_it_was_seen() -> None:
    assert_as_kept({"builds": image(all_builds, "png")})


# --- the book and the command ---


def test_a_long_book_says_how_many_more_there_are() -> None:
    due_dog = due(PLAN, HISTORY, DAY)
    picture = book_chart([due_dog] * (MOST + 7), DAY, "svg").decode()
    assert "7 more after these" in picture
    assert picture.count(">Tansy<") == MOST


def test_an_overdue_dog_is_said_to_be(tmp_path: Path) -> None:
    late = due(PLAN, HISTORY, DAY + timedelta(days=60))
    assert "overdue since" in book_chart([late], DAY + timedelta(days=60), "svg").decode()
    assert "overdue" not in book_chart([due(PLAN, HISTORY, date(2026, 2, 17))], date(2026, 2, 17), "svg").decode()


@pytest.mark.parametrize(
    ("more", "starts"),
    [
        (["--out", "x.png"], b"\x89PNG"),
        (["--out", "x.svg"], b"<?xml"),
        (["--out", "x.svg", "--fact", "cover"], b"<?xml"),
        (["--out", "x.png", "--what", "coat", "--region", "ribs"], b"\x89PNG"),
        (["--out", "x.dat", "--what", "book", "--format", "png"], b"\x89PNG"),
    ],
)
def test_the_command_writes_the_picture(tmp_path: Path, more: list[str], starts: bytes) -> None:
    more = [str(tmp_path / word) if word.startswith("x.") else word for word in more]
    assert main(["draw", str(GOLDEN / "tansy.yaml"), "--profiles", str(GOLDEN), "--date", "2026-03-09", *more]) == 0
    assert (tmp_path / Path(more[1]).name).read_bytes().startswith(starts)


def test_the_command_goes_to_standard_output(capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    assert main(["draw", str(GOLDEN / "tansy.yaml"), "--profiles", str(GOLDEN), "--date", "2026-03-09"]) == 0
    assert capfdbinary.readouterr().out.startswith(b"<?xml")


@pytest.mark.parametrize("wrong", [["--what", "coat"], [str(GOLDEN / "tansy.yaml")]])
def test_a_wrong_command_line_ends_with_2(wrong: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["draw", str(GOLDEN / "tansy.yaml"), *wrong])
    assert ended.value.code == 2
    assert "draw: error: " in capsys.readouterr().err


def test_a_broken_dog_does_not_stop_the_book(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "broken.yaml").write_text("format: 1\ndog: {id: x, breed: y}\n")
    out = tmp_path / "book.svg"
    line = ["draw", str(GOLDEN / "tansy.yaml"), str(tmp_path / "broken.yaml"), "--what", "book", "--out", str(out)]
    assert main([*line, "--profiles", str(GOLDEN), "--date", "2026-03-09"]) == 1
    assert ">Tansy<" in out.read_text()
    assert "broken.yaml" in capsys.readouterr().err


def test_without_the_extra_it_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("coatrules.extras.find_spec", lambda name: None)
    assert main(["draw", str(GOLDEN / "tansy.yaml"), "--profiles", str(GOLDEN)]) == 1
    assert "coatrules[report]" in capsys.readouterr().err


def test_yes_and_no_and_lists_are_shaded_in_words() -> None:
    see_through = by_fact(ORDER, "see_through")
    assert {shade.words for shade in see_through.legend} <= {"yes", "no", "not known here"}
    assert see_through.words["back"] == ("yes" if ORDER.facts["back"]["see_through"] else "no")
    assert by_fact(ORDER, "groups").words["back"] == "body"
    assert by_fact(ORDER, "groups").words["skull"] == "none"


def test_a_dog_that_must_see_a_veterinary_surgeon_has_no_day_in_the_book() -> None:
    due_dog = due(PLAN, HISTORY, DAY)
    held = evolve(due_dog, visit=evolve(due_dog.visit, hold=message("hold.vet")))
    free, picture = (book_chart([one], DAY, "svg").decode() for one in (due_dog, held))
    day = say.amount("short", due_dog.day)
    assert "vet first" in picture
    assert free.count(f">{day}<") > picture.count(f">{day}<")
    assert chart.SKY in free
    assert chart.SKY not in picture


def test_an_empty_window_is_a_triangle_in_the_book() -> None:
    due_dog = due(PLAN, HISTORY, DAY)
    clash = evolve(due_dog, visit=evolve(due_dog.visit, clash=True))
    assert chart.VERMILLION in book_chart([clash], DAY, "svg").decode()
    assert chart.VERMILLION not in book_chart([due_dog], DAY, "svg").decode()
