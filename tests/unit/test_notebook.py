"""The notebook: nothing confirmed is lost, nothing is written twice, whatever is torn or comes at once."""

from __future__ import annotations

import json
import os
import threading
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collaudo.errors import InputError, UnknownNameError
from collaudo.records.notebook import LONGEST_LINE, Notebook

DAY = date(2026, 11, 25)


def entry(number: int, **more: object) -> dict[str, object]:
    return {"entry": f"entry-{number:04d}", "at": "2026-11-25T08:00:00+00:00", "kind": "note", **more}


def begun(folder: Path, number: int = 0) -> tuple[Notebook, str]:
    notebook = Notebook(folder)
    return notebook, notebook.begin(entry(number), day=DAY)


def test_entries_come_back_in_the_order_they_came_in(tmp_path: Path) -> None:
    notebook, sheet = begun(tmp_path)
    notebook.add(sheet, [entry(2, text="first"), entry(1, text="second, ö and 漢")])
    assert Notebook(tmp_path).entries(sheet) == [
        entry(0),
        entry(2, text="first"),
        entry(1, text="second, ö and 漢"),
    ]


def test_an_entry_sent_again_changes_nothing(tmp_path: Path) -> None:
    notebook, sheet = begun(tmp_path)
    first = notebook.add(sheet, [entry(1, text="as it was")])
    raw = (tmp_path / f"{sheet}.jsonl").read_bytes()
    assert notebook.add(sheet, [entry(1, text="otherwise"), entry(1)]) == first
    assert (tmp_path / f"{sheet}.jsonl").read_bytes() == raw


def test_a_beginning_sent_again_gives_the_same_sheet_even_when_it_was_removed(tmp_path: Path) -> None:
    notebook, sheet = begun(tmp_path)
    assert notebook.begin(entry(0), day=DAY) == sheet
    notebook.remove(sheet)
    assert notebook.begin(entry(0), day=DAY) == sheet
    assert notebook.sheets() == []


def test_sheets_are_numbered_through_the_day_and_no_number_comes_twice(tmp_path: Path) -> None:
    notebook, first = begun(tmp_path)
    second = notebook.begin(entry(1), day=DAY)
    notebook.remove(second)
    third = notebook.begin(entry(2), day=DAY)
    other_day = notebook.begin(entry(3), day=date(2026, 11, 26))
    assert [first, second, third] == ["2026-11-25-1", "2026-11-25-2", "2026-11-25-3"]
    assert other_day == "2026-11-26-1"
    assert notebook.sheets() == [first, third, other_day]


def test_the_tenth_sheet_of_a_day_comes_after_the_ninth(tmp_path: Path) -> None:
    notebook = Notebook(tmp_path)
    names = [notebook.begin(entry(number), day=DAY) for number in range(11)]
    assert notebook.sheets() == names


@settings(max_examples=40)
@given(data=st.data())
def test_a_line_torn_anywhere_loses_that_entry_alone(data: st.DataObject) -> None:
    texts = data.draw(st.lists(st.text(max_size=30), min_size=1, max_size=5))
    torn = data.draw(st.text(max_size=30))
    with TemporaryDirectory() as folder:
        notebook, sheet = begun(Path(folder))
        confirmed = notebook.add(sheet, [entry(n, text=text) for n, text in enumerate(texts, 1)])
        file = Path(folder) / f"{sheet}.jsonl"
        whole = file.read_bytes()
        line = json.dumps(entry(99, text=torn)).encode()
        cut = data.draw(st.integers(1, len(line)))
        file.write_bytes(whole + line[:cut])
        assert Notebook(Path(folder)).entries(sheet) == confirmed
        after = Notebook(Path(folder)).add(sheet, [entry(99, text=torn)])
        assert after == [*confirmed, entry(99, text=torn)]
        assert file.read_bytes().startswith(whole)


@settings(max_examples=40)
@given(cut=st.integers(0, 10_000))
def test_a_file_cut_off_anywhere_keeps_every_entry_before_the_cut(cut: int) -> None:
    with TemporaryDirectory() as folder:
        notebook, sheet = begun(Path(folder))
        every = notebook.add(sheet, [entry(n, text="x" * n) for n in range(1, 8)])
        file = Path(folder) / f"{sheet}.jsonl"
        raw = file.read_bytes()
        cut %= len(raw) + 1
        file.write_bytes(raw[:cut])
        assert Notebook(Path(folder)).entries(sheet) == every[: raw[:cut].count(b"\n")]


def test_a_damaged_line_in_the_middle_costs_no_other_and_stays_where_it_is(tmp_path: Path) -> None:
    notebook, sheet = begun(tmp_path)
    notebook.add(sheet, [entry(1), entry(2)])
    file = tmp_path / f"{sheet}.jsonl"
    lines = file.read_bytes().split(b"\n")
    lines[1] = b"\0" * len(lines[1])
    file.write_bytes(b"\n".join(lines))
    assert notebook.entries(sheet) == [entry(0), entry(2)]
    assert notebook.add(sheet, [entry(3)]) == [entry(0), entry(2), entry(3)]
    assert b"\0" in file.read_bytes()


def test_an_entry_is_on_the_disk_before_it_is_confirmed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook, sheet = begun(tmp_path)
    synced: list[bytes] = []
    file = tmp_path / f"{sheet}.jsonl"
    monkeypatch.setattr(os, "fsync", lambda _: synced.append(file.read_bytes()))
    notebook.add(sheet, [entry(1, text="kept")])
    assert synced
    assert b"kept" in synced[-1]


def test_what_several_write_at_once_is_all_kept(tmp_path: Path) -> None:
    _, sheet = begun(tmp_path)

    def write(who: int) -> None:
        notebook = Notebook(tmp_path)  # each its own, as two servers would
        for number in range(20):
            notebook.add(sheet, [entry(1000 * who + number)])

    threads = [threading.Thread(target=write, args=(who,)) for who in (1, 2, 3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    names = [str(one["entry"]) for one in Notebook(tmp_path).entries(sheet)[1:]]
    assert len(names) == len(set(names)) == 60
    for who in (1, 2, 3):
        own = [name for name in names if name.startswith(f"entry-{who}")]
        assert own == sorted(own)


def test_several_that_begin_at_once_get_sheets_of_their_own(tmp_path: Path) -> None:
    found: list[str] = []
    threads = [
        threading.Thread(target=lambda n=n: found.append(Notebook(tmp_path).begin(entry(n), day=DAY)))
        for n in range(6)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(found) == [f"2026-11-25-{number}" for number in range(1, 7)]


@pytest.mark.parametrize(
    "sheet",
    ["", "..", "../2026-11-25-1", "2026-11-25-1/../x", "2026-11-25-0", "2026-11-25-1\n", "2026-11-25-1.jsonl",
     "/etc/passwd", "demo-", "demo-../x", "２０２６-11-25-1", "removed/2026-11-25-1", "a" * 5000],
)  # fmt: skip
def test_only_ids_of_sheets_name_a_file(tmp_path: Path, sheet: str) -> None:
    notebook, _ = begun(tmp_path)
    for ask in (notebook.entries, notebook.remove, notebook.bring_back):
        with pytest.raises(UnknownNameError):
            ask(sheet)
    with pytest.raises(UnknownNameError):
        notebook.add(sheet, [entry(1)])
    notebook.erase(sheet)
    assert len(notebook.sheets()) == 1


def test_a_removed_sheet_is_aside_and_can_be_brought_back_whole(tmp_path: Path) -> None:
    notebook, sheet = begun(tmp_path)
    every = notebook.add(sheet, [entry(1)])
    notebook.remove(sheet)
    assert notebook.sheets() == []
    assert notebook.is_removed(sheet)
    with pytest.raises(UnknownNameError):
        notebook.add(sheet, [entry(2)])
    notebook.bring_back(sheet)
    assert notebook.entries(sheet) == every
    assert not notebook.is_removed(sheet)


def test_an_entry_that_is_too_long_is_refused_and_nothing_of_it_is_written(tmp_path: Path) -> None:
    notebook, sheet = begun(tmp_path)
    with pytest.raises(InputError, match="too long"):
        notebook.add(sheet, [entry(1), entry(2, text="x" * LONGEST_LINE)])
    assert notebook.entries(sheet) == [entry(0)]


def test_a_full_sheet_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    notebook, sheet = begun(tmp_path)
    monkeypatch.setattr("collaudo.records.notebook.MOST_BYTES", 200)
    with pytest.raises(InputError, match="is full"):
        notebook.add(sheet, [entry(1, text="x" * 200)])
    assert notebook.entries(sheet) == [entry(0)]
