"""Two versions of a profile under the same histories: what differs, and because of which line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import load_history, work_order
from coatrules.cli import main
from coatrules.formats.documents import Origin
from coatrules.mentor.comparison import Occasion, changes, compare
from coatrules.mentor.profile_comparison import ProfileComparison
from coatrules.report.comparison import text
from tests.support.strategies import START, histories, profiles

BASE = """\
format: 1
id: mine
label: Mine
visit: {every_weeks: 3, minutes: 60, pace_spread: 0.15}
coats:
  jacket: {lag_weeks: 4, mm_per_week: 2.1, full_mm: 42, rests_weeks: 2, ready_mm: 6, cover_mm: 6, layer_gap_mm: 2}
regions:
  back: {label: Back, coat: jacket, minutes: {pull: 20}}
  loin: {label: Loin, coat: jacket, minutes: {pull: 10}}
layer_targets:
  back: {regions: [back], layers: 4, take: {usual: 0.2, at_most: 0.3}}
  loin: {regions: [loin], layers: 4, take: {usual: 0.2, at_most: 0.3}}
rules:
  gently:
    regions: [loin]
    if: {age_weeks: {maximum: 130}}
    then: {take: {at_most: 0.1}}
    because: Young.
cases:
  grown-out:
    history: {format: 1, dog: {id: pip, born: 2023-10-06}}
    date: 2026-01-05
    expect: {refer: false}
"""


def both(tmp_path: Path, *edits: tuple[str, str]) -> list[str]:
    new = BASE
    for old, changed in edits:
        assert old in new
        new = new.replace(old, changed)
    files = []
    for name, content in (("old", BASE), ("new", new)):
        (tmp_path / name).mkdir(exist_ok=True)
        file = tmp_path / name / "mine.yaml"
        file.write_text(content, encoding="utf-8")
        files.append(str(file))
    return files


def compared(files: list[str], capsys: pytest.CaptureFixture[str], *more: str) -> Any:
    assert main(["compare", *files, *more, "--format", "json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_each_difference_names_its_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = both(
        tmp_path,
        (
            "back: {regions: [back], layers: 4, take: {usual: 0.2, at_most: 0.3",
            "back: {regions: [back], layers: 4, take: {usual: 0.2, at_most: 0.25",
        ),
        ("maximum: 130", "maximum: 100"),
        ("because: Young.", "because: Very young."),
    )
    data = compared(files, capsys)
    assert [change["path"] for change in data["changes"]] == [
        ["layer_targets", "back", "take", "at_most"],
        ["rules", "gently", "if", "age_weeks", "maximum"],
    ]
    differences = {difference["region"]: difference for difference in data["orders"][0]["differences"]}
    assert differences["back"]["because"] == [0]
    assert differences["loin"]["because"] == [1]
    assert "0.3 of the coat" in differences["back"]["old"]
    assert "0.25 of the coat" in differences["back"]["new"]
    assert data["changes"][0]["new_place"] == {"file": files[1], "line": 11}
    assert data["changes"][1]["old_place"] == {"file": files[0], "line": 16}
    assert main(["compare", *files]) == 0
    shown = capsys.readouterr().out
    assert "Lines changed: 2. Orders that differ: 1 of 1." in shown
    assert f"because of {files[1]}:11: layer_targets.back.take.at_most: 0.3 → 0.25" in shown


def test_changes_that_only_work_together_are_said_to(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = both(
        tmp_path,
        (
            "  loin: {label: Loin, coat: jacket, minutes: {pull: 10}}\n",
            "  loin: {label: Loin, coat: soft, minutes: {pull: 10}}\n",
        ),
        (
            "regions:\n  back",
            "  soft: {lag_weeks: 4, mm_per_week: 2.1, full_mm: 42, rests_weeks: 2, ready_mm: 27, cover_mm: 6,"
            " layer_gap_mm: 2}\nregions:\n  back",
        ),
    )
    dog = tmp_path / "dog.yaml"
    dog.write_text("format: 1\ndog: {id: fern}\narrival: {loin: {grown_weeks: 12}}\n", encoding="utf-8")
    data = compared(files, capsys, str(dog), "--date", "2026-01-05")
    differences = {difference["region"]: difference for difference in data["orders"][0]["differences"]}
    assert differences["loin"]["because"] == []
    assert main(["compare", *files, str(dog), "--date", "2026-01-05"]) == 0
    assert "several changes together" in capsys.readouterr().out


def test_without_change_nothing_differs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = compared(both(tmp_path, ("label: Mine", "label: My own")), capsys)
    assert [change["path"] for change in data["changes"]] == [["label"]]
    assert data["orders"][0]["differences"] == []


def test_what_a_profile_took_out_stays_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    child = "format: 1\nid: ours\nlabel: Ours\nextends: mine\nregions: {loin: null}\nlayer_targets: {loin: null}\nrules: {gently: null}\n"
    for name, content in (("mine", BASE), ("ours", child)):
        (tmp_path / f"{name}.yaml").write_text(content, encoding="utf-8")
    data = compared(["mine", "ours"], capsys, "--profiles", str(tmp_path))
    differences = {difference["region"]: difference for difference in data["orders"][0]["differences"]}
    assert differences["loin"]["new"] == "not there"
    assert "back" not in differences


@settings(max_examples=12)
@given(profiles(), st.integers(0, 10), histories())
def test_a_region_differs_just_where_its_order_does(profile: Any, usual: int, history: Any) -> None:
    changed = json.loads(json.dumps(profile))
    take = changed["layer_targets"]["body"]["take"]
    take["usual"] = min(take["at_most"], max(take["low_spot"], usual / 10))
    day = START
    old, new = ((data, Origin()) for data in (profile, changed))
    edits = changes(old, new)
    result = compare(old, new, [Occasion("dog", load_history(history), day)], edits)[0]
    before, after = (work_order(data, history, date=day) for data in (profile, changed))

    def pulled(order: Any) -> dict[str, float]:
        return {step.region: round(step.share, 3) for step in order.steps if step.share is not None}

    shares_before, shares_after = pulled(before), pulled(after)
    differing = {
        region for region in {*shares_before, *shares_after} if shares_before.get(region) != shares_after.get(region)
    }
    assert differing <= {difference.region for difference in result.differences}
    assert all(difference.because == tuple(edits) for difference in result.differences), "one change: it is the cause"
    whole = ProfileComparison(tuple(edits), (result,))
    assert text(whole).count("\n") >= 1
    assert ProfileComparison.from_dict(json.loads(json.dumps(whole.to_dict()))) == whole


REGIMES = """\
regimes:
  show:
    layer_targets: {back: {take: {at_most: 0.28}}}
    cases:
      shown:
        history: {format: 1, dog: {id: pip, born: 2023-10-06}}
        date: 2026-01-05
        expect: {refer: false}
"""


def test_each_regime_is_compared_by_its_own_cases_and_dogs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = both(tmp_path, ("at_most: 0.1", "at_most: 0.08"))
    for file, text_of in zip(files, (REGIMES, REGIMES.replace("0.28", "0.26")), strict=True):
        with Path(file).open("a", encoding="utf-8") as end:
            end.write(text_of)
    data = compared(files, capsys)
    assert [order["name"] for order in data["orders"]] == ["grown-out", "show: shown"]
    plain_case, shown = ({d["region"]: d["because"] for d in order["differences"]} for order in data["orders"])
    assert "back" not in plain_case  # only the regime changed there
    assert [data["changes"][number]["path"] for number in shown["back"]] == [
        ["layer_targets", "back", "take", "at_most"]
    ]
    assert shown["loin"] == plain_case["loin"]  # what both share is one change
    assert len(data["changes"]) == 2
    dog = tmp_path / "dog.yaml"
    dog.write_text("format: 1\ndog: {id: fern, regime: show}\n", encoding="utf-8")
    data = compared(files, capsys, str(dog), "--date", "2026-01-05")
    assert "back" in {difference["region"] for difference in data["orders"][0]["differences"]}


def test_a_regime_of_one_version_only_is_a_change(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = both(tmp_path)
    with Path(files[1]).open("a", encoding="utf-8") as end:
        end.write(REGIMES)
    data = compared(files, capsys)
    assert [change["path"] for change in data["changes"]] == [["regimes", "show"]]
    (difference,) = data["orders"][1]["differences"]
    assert (difference["old"], difference["new"]) == (
        "no order: this profile has no regime 'show'",
        "the regime 'show'",
    )


def test_a_target_for_some_dogs_only_is_compared_on_those(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    winter = "  winter: {regions: [back], layers: 4, take: {usual: 0.2, at_most: 0.25}, if: {time_of_year: winter}}\nrules:\n"
    files = both(tmp_path, ("rules:\n", winter))
    data = compared(files, capsys)
    assert "back" in {difference["region"] for difference in data["orders"][0]["differences"]}
