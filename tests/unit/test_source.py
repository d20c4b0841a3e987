"""Reading and writing YAML: what is read, what is refused, and that nothing else can happen."""

from __future__ import annotations

import contextlib
import json
import os
import re
import sys
import time
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collaudo.errors import InputError, MachineFileError, Problem
from collaudo.machine import source
from collaudo.machine.source import (
    MAX_BYTES,
    MAX_DEPTH,
    MAX_NODES,
    Node,
    Problems,
    plain_scalar,
    printable,
    read_source,
    take_flag,
    take_list,
    take_mapping,
    take_number,
    take_quantity,
    take_text,
    take_whole,
)
from collaudo.machine.writer import dump

PARSERS = [parser for name in ("CSafeLoader", "SafeLoader") if (parser := getattr(yaml, name, None))]

MACHINE = """\
# A machine for the tests
name: heat exchanger with vibration pump
like: null
site: {mains_V: 230, altitude_m: 120.5, room_degC: 21}
parts:
  pump:
    kind: vibration pump
    free_flow_ml_per_min: 650
  relief:
    kind: relief valve
    set: 9.5 bar
    notes: |
      Between check valve and exchanger.
      Returns to the tank.
lines:
- [pump.out, check.in, {bore_mm: 4, length_mm: 300}]
- from: check.out
  to: "relief.in"
"""


@pytest.fixture(params=PARSERS, ids=lambda parser: parser.__name__)
def _parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both the compiled parser and the one in plain Python, which stands in where the first is missing."""
    monkeypatch.setattr(source, "_PARSER", request.param)


both_parsers = pytest.mark.usefixtures("_parser")


def refusal(text: str | bytes | Path) -> Problem:
    with pytest.raises(InputError) as caught:
        read_source(text, name="" if isinstance(text, Path) else "machine.yaml")
    (problem,) = caught.value.problems
    return problem


@both_parsers
def test_values_keep_their_line_and_file() -> None:
    root = read_source(MACHINE, name="machine.yaml")
    assert isinstance(root.value, dict)
    parts = root.value["parts"]
    assert isinstance(parts.value, dict)
    relief = parts.value["relief"]
    assert isinstance(relief.value, dict)
    assert [parts.line, relief.line, relief.value["set"].line, relief.value["notes"].line] == [5, 9, 11, 12]
    lines = root.value["lines"]
    assert isinstance(lines.value, list)
    assert [node.line for node in lines.value] == [16, 17]
    assert {node.file for node in (root, parts, relief, *lines.value)} == {"machine.yaml"}


@both_parsers
def test_plain_gives_the_data_without_lines() -> None:
    assert read_source(MACHINE).plain() == {
        "name": "heat exchanger with vibration pump",
        "like": None,
        "site": {"mains_V": 230, "altitude_m": 120.5, "room_degC": 21},
        "parts": {
            "pump": {"kind": "vibration pump", "free_flow_ml_per_min": 650},
            "relief": {
                "kind": "relief valve",
                "set": "9.5 bar",
                "notes": "Between check valve and exchanger.\nReturns to the tank.\n",
            },
        },
        "lines": [
            ["pump.out", "check.in", {"bore_mm": 4, "length_mm": 300}],
            {"from": "check.out", "to": "relief.in"},
        ],
    }


# YAML 1.2.2, section 10.3.2 (core schema), example 10.9 and the table of its regular expressions, from
# memory. Left out on purpose: True/TRUE and Null/NULL (one spelling is enough), 0o7 and 0x3A.
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("null", None),
        ("~", None),
        ("", None),
        ("true", True),
        ("false", False),
        ("0", 0),
        ("-19", -19),
        ("0.", 0.0),
        ("-0.0", 0.0),
        (".5", 0.5),
        ("+12e03", 12000.0),
        ("-2E+05", -200000.0),
    ],
)
def test_scalar_means_what_the_standard_says(text: str, value: object) -> None:
    assert plain_scalar(text) == value
    assert type(plain_scalar(text)) is type(value)


@both_parsers
@pytest.mark.parametrize(
    "text",
    # Octal, sexagesimal, date and truth words are read as something else by YAML 1.1.
    [
        *("on", "off", "yes", "no", "y", "n", "True", "FALSE", "Null", "nan", "inf", "=", "<<"),
        *("010", "0o7", "0x3A", "1:30", "2026-01-31", "1_000", "1,1", "1.1.1", "1e", "9.5bar"),
    ],
)
def test_text_that_only_looks_like_something_stays_a_text(text: str) -> None:
    assert read_source(f"value: {text}").plain() == {"value": text}


@both_parsers
@pytest.mark.parametrize("text", ["'5'", '"5"', "'true'", "'null'", "'.nan'"])
def test_quotes_make_a_text(text: str) -> None:
    assert read_source(f"value: {text}").plain() == {"value": text[1:-1]}


@both_parsers
def test_byte_order_mark_and_windows_line_ends_are_read() -> None:
    assert read_source(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n").plain() == {"a": 1, "b": 2}


REFUSED: list[tuple[str, str | bytes, int, str, str]] = [
    ("empty", "", 0, "file is empty", "key: value"),
    ("only a comment", "# nothing\n", 0, "file is empty", "key: value"),
    ("empty document", "---\n...\n", 0, "file is empty", "key: value"),
    ("too large", "a: " + "x" * MAX_BYTES, 0, "larger than 256 kB", "split it"),
    ("alias", "a: 1\nb: *a\n", 2, "anchor or alias", "write the value out"),
    ("anchor", "a: &a 1\n", 1, "anchor or alias", "write the value out"),
    ("anchor on a list", "a: &a [1]\n", 1, "anchor or alias", "write the value out"),
    ("alias as key", "*a : 1\n", 1, "anchor or alias", "write the value out"),
    ("alias bomb", "a: &a [x,x]\nb: &b [*a,*a]\nc: [*b,*b]\n", 1, "anchor or alias", "write the value out"),
    ("tag", "a: !!str 1\n", 1, r"tag \(!\)", "leave it out"),
    ("tag that builds an object", "a: !!python/object/apply:os.getcwd []\n", 1, r"tag \(!\)", "leave it out"),
    ("tag on the root", "!thing\na: 1\n", 1, r"tag \(!\)", "leave it out"),
    ("directive", "%YAML 1.2\n---\na: 1\n", 1, "directive", "leave it out"),
    ("key twice", "a: 1\nb: 2\na: 3\n", 3, "'a' stands twice", "the first is in line 1"),
    ("key twice in brackets", "a: {b: 1,\n  b: 2}\n", 2, "'b' stands twice", "the first is in line 1"),
    ("key that is a number", "a: 1\n1: 2\n", 2, "key that is not a text", "quotes"),
    ("key that is true", "true: 2\n", 1, "key that is not a text", "quotes"),
    ("key that is nothing", "~: 2\n", 1, "key that is not a text", "quotes"),
    ("key that is a list", "? [a]\n: 1\n", 1, "key that is not a text", "quotes"),
    ("too deep", "- " * (MAX_DEPTH + 1) + "a\n", 1, "nested deeper than 20", "flatter"),
    ("too many values", "- a\n" * MAX_NODES, MAX_NODES, "more than 20000 values", "split it"),
    ("not UTF-8", b"a: 1\nb: \xe9\n", 2, "not a text in UTF-8", "save it as UTF-8"),
    ("UTF-16", "a: 1".encode("utf-16"), 1, "not a text in UTF-8", "save it as UTF-8"),
    ("surrogate", "a: \ud800", 1, "not a text in UTF-8", "save it as UTF-8"),
    ("NUL", "a: 1\nb: \0\n", 2, r"binary character U\+0000", "plain text"),
    ("control character", b"a: 1\n\x1b[31m\n", 2, r"binary character U\+001B", "plain text"),
    ("NUL as escape", 'a: "\\0"\n', 1, "not printable", "leave it out"),
    ("escape of no character", 'a: 1\nb: "\\UFFFFFFFF"\n', 2, "escape", "."),
    ("tab", "a:\n\tb: 1\n", 2, "tab character", "use spaces"),
    ("two documents", "a: 1\n---\nb: 2\n", 2, "second document", "one document in a file"),
    ("not a number", "a: 1\nb: .nan\n", 2, "not a finite number", "give a finite number"),
    ("infinite", "a: -.Inf\n", 1, "not a finite number", "give a finite number"),
    ("beyond all floats", "a: 1e999\n", 1, "not a finite number", "give a finite number"),
    ("too many digits", "a: 1234567890123456789\n", 1, "more than 18 digits", "quotes"),
    ("endless digits", "a: " + "9" * 5000, 1, "more than 18 digits", "quotes"),
    ("cut off in a quote", "a: 1\nb: 'half\n", 2, "not readable as YAML", "close the quote"),
    ("cut off in a bracket", "a: 1\nb: [1, 2\n", 2, "not readable as YAML", "close the bracket"),
    ("cut off in a key", "a: 1\nb\n", 3, "not readable as YAML", "key: value"),
    ("crooked indentation", "a:\n  b: 1\n c: 2\n", 3, "not readable as YAML", "same column"),
    ("colon in a text", "a: b: c\n", 1, "not readable as YAML", "in quotes"),
    ("sign in front", "a: @b\n", 1, "not readable as YAML", "in quotes"),
    ("lone backslash", 'a: "C:\\q"\n', 1, "not readable as YAML", "backslash is written twice"),
]


@both_parsers
@pytest.mark.parametrize(
    ("text", "line", "message", "remedy"), [r[1:] for r in REFUSED], ids=[r[0] for r in REFUSED]
)
def test_refused_with_one_message_place_and_remedy(
    text: str | bytes, line: int, message: str, remedy: str
) -> None:
    problem = refusal(text)
    assert re.search(message, problem.message)
    assert re.search(remedy, problem.remedy)
    last = len(text.splitlines())
    assert (problem.file, problem.line) == ("machine.yaml", min(line, last))


@both_parsers
def test_limits_themselves_are_allowed() -> None:
    node = read_source("- " * MAX_DEPTH + "a\n")
    for _ in range(MAX_DEPTH):
        assert isinstance(node.value, list)
        (node,) = node.value
    assert node.value == "a"
    assert len(read_source("- a\n" * (MAX_NODES - 1)).plain()) == MAX_NODES - 1
    assert read_source("a: " + "x" * (MAX_BYTES - 3)).plain() == {"a": "x" * (MAX_BYTES - 3)}
    assert read_source("a: " + "9" * 18).plain() == {"a": 10**18 - 1}


def test_file_is_read_and_named(tmp_path: Path) -> None:
    path = tmp_path / "machine.yaml"
    path.write_text("a: 1\nb: .nan\n", encoding="utf-8")
    assert refusal(path).file == str(path)
    path.write_text("a: 1\n", encoding="utf-8")
    assert read_source(path).plain() == {"a": 1}


def test_missing_file_names_the_one_beside_it(tmp_path: Path) -> None:
    (tmp_path / "machine.yaml").write_text("a: 1", encoding="utf-8")
    problem = refusal(tmp_path / "machin.yaml")
    assert problem.message == "no such file"
    assert problem.remedy == "did you mean 'machine.yaml'?"
    assert refusal(tmp_path / "no" / "machine.yaml").remedy == "check folder and name"


def test_folder_is_refused(tmp_path: Path) -> None:
    assert refusal(tmp_path).message == "this is a folder"


@pytest.mark.skipif(sys.platform == "win32", reason="no named pipes in the file system")
def test_pipe_is_refused_without_waiting_for_it(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert refusal(tmp_path / "pipe").message == "this is no ordinary file"


def test_file_without_permission_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "machine.yaml").write_text("a: 1", encoding="utf-8")

    def forbidden(*_args: object, **_names: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", forbidden)
    assert refusal(tmp_path / "machine.yaml").message == "the file may not be read"


@pytest.mark.parametrize("name", ["x" * 5000, "a\0b"])
def test_impossible_file_name_is_refused(name: str) -> None:
    assert "cannot be read" in refusal(Path(name)).message


def test_callers_error_class_is_raised() -> None:
    with pytest.raises(MachineFileError, match=r"m\.yaml: the file is empty -- write"):
        read_source("", name="m.yaml", error=MachineFileError)


# Any input at all


def only_a_node_or_one_problem(data: bytes) -> None:
    try:
        node = read_source(data, name="any.yaml")
    except InputError as refused:
        (problem,) = refused.problems
        assert problem.message
        assert problem.remedy
        assert problem.file == "any.yaml"
        # Line ends as YAML 1.1 and Python count them: also a lone CR, NEL and the Unicode separators.
        assert 0 <= problem.line <= max(1, len(data.decode("utf-8", "replace").splitlines()))
    else:
        assert isinstance(node, Node)
        assert node.plain() is not None


ANY = settings(
    max_examples=2000, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


@both_parsers
@ANY
@given(data=st.binary(max_size=200))
def test_random_bytes_never_do_anything_else(data: bytes) -> None:
    only_a_node_or_one_problem(data)


@both_parsers
@ANY
@given(text=st.text(alphabet="ab01 :-?[]{}#&*!|>'\"%@`,.~\n\\uxU+eE<=\t\r\ufeff\x85\u2028", max_size=60))
def test_random_yaml_signs_never_do_anything_else(text: str) -> None:
    only_a_node_or_one_problem(text.encode())


SIGNS = [
    *(": ", "- ", "\n", "\n  ", "'", '"', "[", "]", "{", "}", "&a ", "*a", "!!x ", "|\n", ">-\n", "? ", "#"),
    *("---\n", "...\n", "%", "\t", "\0", ".nan", "1e999", "\\", "\\u", "\ufeff", "é", "<<: ", "name: x\n"),
]
PIECES = st.sampled_from(SIGNS).map(str.encode) | st.binary(max_size=4)
EDITS = st.lists(st.tuples(st.floats(0, 1), st.integers(0, 12), PIECES), min_size=1, max_size=4)


@both_parsers
@ANY
@given(edits=EDITS, keep=st.floats(0.3, 1))
def test_random_changes_of_a_good_file_never_do_anything_else(
    edits: list[tuple[float, int, bytes]], keep: float
) -> None:
    data = MACHINE.encode()
    for place, cut, piece in edits:
        start = int(place * len(data))
        data = data[:start] + piece + data[start + cut :]
    only_a_node_or_one_problem(data[: int(keep * len(data)) + 1])


@both_parsers
@pytest.mark.parametrize(
    "piece", ["[", "{", "[a,", "{a: ", "a\n", '"\n', "'", "- ", "? ", "a:\n", "#\n", "\n", "%a\n"]
)
@pytest.mark.parametrize("before", ["", "a: |\n ", "[", '"'])
def test_worst_repetitions_are_answered_in_time(before: str, piece: str) -> None:
    text = before + piece * ((MAX_BYTES - 20) // len(piece))
    began = time.perf_counter()
    with contextlib.suppress(InputError):
        read_source(text)
    # Under 0.5 s here with either parser; anything quadratic takes minutes at this size.
    assert time.perf_counter() - began < 10


@pytest.mark.skipif(not hasattr(yaml, "CSafeLoader"), reason="PyYAML without its compiled parser")
def test_file_of_two_hundred_lines_is_read_in_15_ms() -> None:
    text = "parts:\n" + "".join(
        f"  part{n}:\n    kind: tube\n    bore_mm: {n}.5\n    port: [a, b]\n" for n in range(50)
    )
    assert text.count("\n") == 201
    times = []
    for _ in range(20):
        began = time.perf_counter()
        read_source(text)
        times.append(time.perf_counter() - began)
    assert min(times) < 0.015


# Taking values out


def node_of(text: str, key: str = "it") -> Node:
    value = read_source(text, name="m.yaml").value
    assert isinstance(value, dict)
    return value[key]


def test_problems_are_told_together_in_the_order_of_the_file() -> None:
    problems = Problems()
    problems.raise_if_any()
    root = read_source("a: 1\nb: 2\n", name="m.yaml")
    assert isinstance(root.value, dict)
    problems.add("second", root.value["b"], "do that")
    problems.add("first", root.value["a"])
    with pytest.raises(MachineFileError) as caught:
        problems.raise_if_any(MachineFileError)
    assert str(caught.value) == "m.yaml:1: first\nm.yaml:2: second -- do that"


def test_mapping_notes_unknown_and_missing_keys_and_goes_on() -> None:
    problems = Problems()
    root = read_source("kind: pump\nbor_mm: 4\n", name="m.yaml")
    taken = take_mapping(root, "pump", problems, allowed=["bore_mm"], required=["kind", "flow_g_per_s"])
    assert list(taken) == ["kind"]
    assert [str(problem) for problem in problems] == [
        "m.yaml:1: pump has no 'flow_g_per_s' -- add 'flow_g_per_s: …'",
        "m.yaml:2: pump has the unknown key 'bor_mm' -- did you mean 'bore_mm'?",
    ]


def test_right_values_are_taken_without_a_problem() -> None:
    problems = Problems()
    assert take_mapping(node_of("it: {a: 1}"), "it", problems).keys() == {"a"}
    assert [node.value for node in take_list(node_of("it: [1, x]"), "it", problems)] == [1, "x"]
    assert take_text(node_of("it: dry"), "it", problems, known=["dry", "wet"]) == "dry"
    assert take_flag(node_of("it: false"), "it", problems) is False
    assert take_number(node_of("it: 4"), "it", problems) == 4.0
    assert take_whole(node_of("it: 4"), "it", problems) == 4
    assert problems == []


@pytest.mark.parametrize(
    ("take", "text", "message"),
    [
        (take_mapping, "it: [1]", "it is a list -- write a mapping"),
        (take_list, "it: {a: 1}", "it is a mapping -- write a list"),
        (take_list, "it:", "it is empty -- write a list"),
        (take_text, "it: 5", "it is the number 5 -- write a text, in quotes"),
        (take_flag, "it: yes", "it is the text 'yes' -- write true or false"),
        (take_number, "it: 1,1", "it is the text '1,1' -- write a number with a decimal point"),
        (take_number, "it: true", "it is true -- write a number"),
        (take_whole, "it: 1.5", "it is the number 1.5 -- write a whole number"),
        (take_whole, "it: false", "it is false -- write a whole number"),
    ],
)
def test_wrong_value_is_noted_with_what_would_be_right(take: Any, text: str, message: str) -> None:
    problems = Problems()
    assert not take(node_of(text), "it", problems)
    (problem,) = problems
    assert str(problem).startswith(f"m.yaml:1: {message}")


def test_unknown_word_is_noted_with_near_ones() -> None:
    problems = Problems()
    assert take_text(node_of("it: wett"), "it", problems, known=["dry", "wet", "spitting"]) is None
    assert str(problems[0]) == "m.yaml:1: it: unknown 'wett' -- did you mean 'wet'?"


@pytest.mark.parametrize(
    ("text", "key", "dimension", "value_si"),
    [
        ("set_bar: 9.5", "set_bar", "pressure", 9.5e5),
        ("set: 9.5 bar", "set", "pressure", 9.5e5),
        ("bore_mm: 4", "bore_mm", "length", 4e-3),
        ("bore_mm: 4e-7", "bore_mm", "length", 4e-10),
        ("differential_K: 8", "differential_K", "temperature_difference", 8.0),
    ],
)
def test_quantity_is_taken_in_si(text: str, key: str, dimension: str, value_si: float) -> None:
    problems = Problems()
    taken = take_quantity(node_of(text, key), f"relief.{key}", dimension, problems)
    assert taken == pytest.approx(value_si, rel=1e-14)
    assert problems == []


@pytest.mark.parametrize(
    ("text", "key", "message"),
    [
        ("set_mm: 9.5", "set_mm", r"is a length -- a pressure is written"),
        ("set: 9.5", "set", r"has no unit -- a pressure is written"),
        ("set: 9.5 mm", "set", r"is a length -- a pressure is written"),
        ("set_bar: 9.5 bar", "set_bar", r"the key has the unit -- write 'set_bar: 1.2' or 'set: 1.2 bar'"),
        ("set_bar: high", "set_bar", r"the key has the unit"),
        ("set_bar: true", "set_bar", r"is true -- write a pressure with its unit"),
        ("set_bar: [9]", "set_bar", r"is a list -- write a pressure with its unit"),
        ("set_bar:", "set_bar", r"is empty -- write a pressure with its unit"),
    ],
)
def test_quantity_that_does_not_fit_is_noted(text: str, key: str, message: str) -> None:
    problems = Problems()
    assert take_quantity(node_of(text, key), f"relief.{key}", "pressure", problems) is None
    with pytest.raises(MachineFileError, match=rf"^m.yaml:1: relief\.{key}.*{message}"):
        problems.raise_if_any(MachineFileError)


# Writing

# All that YAML calls printable, with an extra share of what could be taken for its signs.
TEXTS = st.text(
    st.sampled_from("ab 01:-?[]{}#&*!|>'\"%@`,.~\n\\\t_é°")
    | st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\ufeff\ufffe\uffff"),
    max_size=20,
) | st.sampled_from(
    ["null", "true", "~", "5", "1e3", ".nan", "1:30", "on", "---", "...", "9" * 30, "- a", "a: b", "a #b"]
)
SCALARS: st.SearchStrategy[Any] = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**18) + 1, 10**18 - 1),
    st.floats(allow_nan=False, allow_infinity=False),
    TEXTS,
)
DATA = st.dictionaries(
    TEXTS,
    st.recursive(
        SCALARS, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4)
    ),
    max_size=5,
)


@both_parsers
@settings(
    max_examples=1000, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(data=DATA)
def test_what_is_written_is_read_back_unchanged(data: dict[str, Any]) -> None:
    text = dump(data)
    again = read_source(text).plain()
    assert again == data
    assert json.dumps(again) == json.dumps(data)  # 1, 1.0 and true are equal in Python, not in JSON
    assert dump(again) == text


# PyYAML's own composer is another reader; told to take every scalar as text, it knows no schema.
@settings(max_examples=500)
@given(
    data=st.dictionaries(
        TEXTS, TEXTS | st.lists(TEXTS, min_size=1) | st.dictionaries(TEXTS, TEXTS, min_size=1), min_size=1
    )
)
def test_what_is_written_means_the_same_to_another_reader(data: dict[str, Any]) -> None:
    assert yaml.load(dump(data), Loader=yaml.BaseLoader) == data


# JSON is a part of YAML 1.2 (YAML 1.2.2, section 1.2): Python's json writes, we read.
@settings(max_examples=500, suppress_health_check=[HealthCheck.too_slow])
@given(data=DATA)
def test_json_is_read_as_json_means_it(data: dict[str, Any]) -> None:
    # A control character cannot stand in a file of ours, nor can a text escape one.
    text = json.dumps(data, ensure_ascii=False)
    if printable(text):
        assert read_source(text).plain() == data


def test_written_text_is_what_a_person_would_write() -> None:
    assert (
        dump(read_source(MACHINE).plain())
        == """\
name: heat exchanger with vibration pump
like: null
site:
  mains_V: 230
  altitude_m: 120.5
  room_degC: 21
parts:
  pump:
    kind: vibration pump
    free_flow_ml_per_min: 650
  relief:
    kind: relief valve
    set: 9.5 bar
    notes: |
      Between check valve and exchanger.
      Returns to the tank.
lines:
  - - pump.out
    - check.in
    - bore_mm: 4
      length_mm: 300
  - from: check.out
    to: relief.in
"""
    )


@pytest.mark.parametrize(
    ("value", "written"),
    [
        ("on", "on"),
        ("1:30", "1:30"),
        ("true", '"true"'),
        ("9.5", '"9.5"'),
        ("a: b", '"a: b"'),
        ("a #b", '"a #b"'),
        ("", '""'),
        ("- x", '"- x"'),
        ("90 °C", "90 °C"),
        ("a\tb", '"a\\tb"'),
        ("a\u00a0b", '"a\\u00a0b"'),
        (" a\nb", '" a\\nb"'),
        ([], "[]"),
        ({}, "{}"),
        (1e-7, "1e-07"),
        (5.0, "5.0"),
    ],
)
def test_quotes_stand_only_where_they_are_needed(value: object, written: str) -> None:
    assert dump({"it": value}) == f"it: {written}\n"


def looped() -> list[Any]:
    loop: list[Any] = []
    loop.append(loop)
    return loop


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ({"a": float("nan")}, "nan is not a finite number"),
        ({"a": 10**18}, "more than 18 digits"),
        ({1: 2}, "key 1 is not a text"),
        ({"a": {1}}, "a set has no YAML form"),
        ({"a": "\x00"}, "not printable"),
        ({"a" * 2000: 1}, "not readable as YAML"),
        (looped(), "nested deeper than 20"),
        (["a"] * MAX_NODES, "more than 20000 values"),
        (None, "empty"),
    ],
)
def test_data_that_could_not_be_read_back_are_not_written(data: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        dump(data)
