"""The reader against the YAML Test Suite and the JSON Parsing Test Suite (``tests/suites``): every difference, with its reason."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from coatrules.problems import InputError
from coatrules.reading import read_json, read_yaml

SUITES = Path(__file__).parents[2] / "suites"

MEANT = {
    "anchor": "26DV 2SXE 3GZX 3R3P 6BFJ 6KGN 6M2F 7BMT 7BUB CN3R E76Z FTA2 JS2J KSS4 PW8X SKE5 U3XV V55R Y2GN ZH7C ZWK4",
    "tag": """2AUY 2XXW 33X3 35KP 52DL 565N 57H4 6JWB 735Y 74H7 7FWL 8MK2 9KAX BU8L CUP7 EHF6 F2C7 FH7J HMQ5 J7PZ L94M LE5A M5C3
        S4JQ UGM3 UKK6/2 WZ62 Z67P""",
    "directive": "2LFX 5TYM 6CK3 6LVF 6WLZ 9WXW C4HZ CC74 M7A3 MUS6/5 MUS6/6 P76L U3C3 UT92 W4TN Z9M4",
    "tab": """3RLN/0 3RLN/1 3RLN/3 3RLN/4 6BCT 6SLA A2M4 CPZ3 DC7X DE56/0 DE56/1 DE56/2 DE56/3 DE56/4 DE56/5 J3BT K54U
        KH5V/0 KH5V/1 KH5V/2 MUS6/3 NP9H Q8AD Y79Y/10""",
    "tab-indent": """3RLN/2 3RLN/5 4ZYM 5GBF 6CA3 6HB6 7A4E 96NN/0 96NN/1 DK95/0 DK95/2 DK95/3 DK95/4 DK95/5 DK95/7 DK95/8 HS5T
        M9B4 MJS9 NB6Z PRH3 Q5MG R4YG T5N4 TL85 UV7Q Y79Y/1 Y79Y/2""",
    "key-not-a-word": "4FJ6 6PBE 9MMW KK5P LX3P M2N8/0 M2N8/1 M5DY Q9WF RZP5 SBG9 V9D5 X38W XW4D",
    "no-key": "DFF7",
    "control-character": "G4RS",
    "yaml-question-mark": "652Z HM87/1",
}
"""What this reader refuses on purpose, as the head of ``coatrules.reading`` says, by the code of the first problem: what hides meaning
(anchors, tags, directives, control characters), what people cannot see (tabs), keys that are no text. A line of text that begins
with '%' is refused for a directive (M7A3, UT92, W4TN). A question mark at the start of a key within braces is refused because the
parser would read another key."""
PARSER = {
    "yaml-indentation": "2JQS NHX8 NKF9 S3PD SM9W/1 UKK6/0",  # keys of nothing (': a'), which are refused anyway
    "yaml-syntax": "4ABK FRK4",  # the same within braces
    "yaml-bracket": """4MUZ/0 4MUZ/1 4MUZ/2 58MP 5MUD 5T43 9SA2 CFD4 DBG4 HM87/0 HWV9 K3WX NJ66 QT73 VJP3/1""",
    # a key and its colon on two lines, '::a' and keys of nothing within brackets; an end of nothing ('...')
    "yaml-after-end": "7Z25 DK3J FP8R",  # a document without '---'; block text of no indentation
    "anchor-without-name": "8XYN W5VH",  # anchors, which are refused anyway, with names of other scripts
    "tag-or-directive": "BEC7",  # YAML 1.3
}
"""What the parser beneath, which is older than YAML 1.2, does not know; refused with a place, so that nothing is misread."""
LENIENT = "9C9N QB6E 9JBA CVW2 SU5Z X4QW EB22 RHX7 MUS6/0 MUS6/1 G5U8 YJV2 S98Z"
"""What the parser beneath reads though YAML 1.2 does not, in the one way that it can be meant: brackets and quotes that go on less
indented than they began (9C9N, QB6E), a comment without the space before it (9JBA, CVW2, SU5Z, X4QW), a %YAML line where
'...' should stand before it, or twice, or with a comment at once behind it (EB22, RHX7, MUS6), a lone dash within brackets, read as
text (G5U8, YJV2), lines of more and more spaces before a block text of nothing (S98Z)."""
OTHERWISE = "L24T/1"
"""A last line of nothing but spaces, without a line break, after a block text: read without the line break that YAML 1.2 adds."""

JSON_MEANT = {
    "duplicate-key": "y_object_duplicated_key y_object_duplicated_key_and_value",
    "control-character": """y_object_escaped_null_in_key y_string_allowed_escapes y_string_escaped_control_character
        y_string_escaped_noncharacter y_string_nonCharacterInUTF-8_U+FFFF y_string_null_escape y_string_u+2028_line_sep
        y_string_u+2029_par_sep y_string_unescaped_char_delete y_string_unicode_U+FFFE_nonchar y_string_with_del_character""",
}
"""What RFC 8259 allows and this reader refuses on purpose: equal keys, and characters that hide."""
JSON_FREE_AND_READ = """i_number_double_huge_neg_exp i_number_real_underflow i_structure_UTF-8_BOM_empty_object t_number_1.0
    t_number_1.000000000000000005 t_number_1000000000000000 t_number_1e-999 t_number_1e6 t_number_9223372036854775807"""
"""Of what is left open: numbers that can be held, if need be rounded or as 0, and a mark of the byte order. The rest is refused."""


def _by_code(table: dict[str, str]) -> dict[str, str]:
    return {name: code for code, names in table.items() for name in names.split()}


def _read(read: Any, text: str) -> Any:
    """What the reader makes of a text; the code of the first problem where it refuses it."""
    try:
        return read(text.encode("utf-8", "surrogatepass"))
    except InputError as error:
        return error.problems[0].code


def _same(one: Any, other: Any) -> bool:
    """Whether two values are equal, 1 and True and 1.0 being three."""
    return json.dumps(one, sort_keys=True) == json.dumps(other, sort_keys=True)


def _documents(text: str) -> list[Any]:
    """The JSON texts that stand one after the other."""
    documents, decoder = [], json.JSONDecoder()
    while text := text.lstrip():
        value, end = decoder.raw_decode(text)
        documents.append(value)
        text = text[end:]
    return documents


def test_yaml_is_read_as_the_suite_says_but_for_what_is_listed() -> None:
    refused: dict[str, str] = {}
    lenient, otherwise, equal = [], [], 0
    for name, case in json.loads((SUITES / "yaml.json").read_bytes()).items():
        found = _read(read_yaml, case["yaml"])
        if case.get("fail"):
            lenient += [name] if not isinstance(found, str) else []
        elif isinstance(found, str):
            refused[name] = found
        elif "json" in case:
            same = _same([document.data for document in found], _documents(case["json"]))
            otherwise += [name] if not same else []
            equal += same
    assert refused == _by_code(MEANT) | _by_code(PARSER)
    assert set(lenient) == set(LENIENT.split())
    assert otherwise == [OTHERWISE]
    assert equal == 140


def test_json_is_read_as_the_suite_says_but_for_what_is_listed() -> None:
    refused: dict[str, str] = {}
    free = set()
    for name, text in json.loads((SUITES / "json.json").read_bytes()).items():
        whole = text if isinstance(text, str) else text[0] * text[1]
        found = _read(read_json, whole)
        if name[0] == "n":
            assert isinstance(found, str), name
        elif isinstance(found, str):
            refused |= {name: found} if name[0] == "y" else {}
        else:
            assert _same(found.data, json.loads(whole.removeprefix("\ufeff"))), name
            free |= {name} if name[0] != "y" else set()
    assert refused == _by_code(JSON_MEANT)
    assert free == set(JSON_FREE_AND_READ.split())
